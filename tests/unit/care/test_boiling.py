"""Where water boils: by the day's air pressure, and by the height above sea level.

By height: standard atmosphere (ISO 2533) with steam tables, rounded, from memory. By pressure: the check
values of the equation itself (IAPWS R7-97(2012), table 36), and a printed table of saturated steam: 90 °C at
0.07018 MPa, 95 at 0.08461 (people.ohio.edu/trembly, property tables, H2O).
"""

import pytest

from kilnctl.care.boiling import boiling_at_c, boiling_c, saturation_c, weather_k


@pytest.mark.parametrize(
    ("above_m", "due_c"), [(0.0, 100.0), (500.0, 98.3), (1000.0, 96.7), (1500.0, 95.0), (3000.0, 90.0)]
)
def test_water_boils_lower_up_a_mountain(above_m: float, due_c: float) -> None:
    assert boiling_c(above_m) == pytest.approx(due_c, abs=0.3)


@pytest.mark.parametrize(("mpa", "due_k"), [(0.1, 372.755919), (1.0, 453.035632), (10.0, 584.149488)])
def test_the_equation_gives_its_own_check_values(mpa: float, due_k: float) -> None:
    assert saturation_c(mpa) + 273.15 == pytest.approx(due_k, abs=1e-6)


@pytest.mark.parametrize(("air_hpa", "due_c"), [(701.8, 90.0), (846.1, 95.0), (1013.25, 99.97)])
def test_a_printed_steam_table_says_the_same(air_hpa: float, due_c: float) -> None:
    assert boiling_at_c(air_hpa) == pytest.approx(due_c, abs=0.01)


def test_weather_moves_it_by_what_a_steam_table_says() -> None:
    """30 hPa at the sea; steam tables: 99.61 °C at 1000 hPa, 99.97 at 1013, so 0.028 K/hPa."""
    assert weather_k(0.0) == pytest.approx(30.0 * 0.028, abs=0.02)
