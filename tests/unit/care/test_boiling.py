"""Where water boils, by the height above sea level.

Standard atmosphere (ISO 2533) with steam tables, rounded, from memory: 100.0 °C at the sea, 98.3 at 500 m,
96.7 at 1000 m, 95.0 at 1500 m, 90.0 at 3000 m.
"""

import pytest

from kilnctl.care.boiling import boiling_c


@pytest.mark.parametrize(
    ("above_m", "due_c"), [(0.0, 100.0), (500.0, 98.3), (1000.0, 96.7), (1500.0, 95.0), (3000.0, 90.0)]
)
def test_water_boils_lower_up_a_mountain(above_m: float, due_c: float) -> None:
    assert boiling_c(above_m) == pytest.approx(due_c, abs=0.3)
