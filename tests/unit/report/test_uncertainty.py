"""The uncertainty statement: worked example of the job, tolerances of IEC 60584-1."""

import pytest

from kilnctl.care.calibration import limit_of_error_k, point_error_k
from kilnctl.errors import ConfigError
from kilnctl.report.uncertainty import Component, combine, wire_k


def test_the_worked_example() -> None:
    # J31: limits of 6.2, 2 and 4 K, rectangular, coverage factor 2: 2 sqrt((38.44 + 4 + 16) / 3) = 8.83.
    parts = tuple(
        Component(name, half, "") for name, half in (("sensor", 6.2), ("instrument", 2), ("place", 4))
    )
    assert combine(parts).expanded_k == pytest.approx(8.8, abs=0.05)


@pytest.mark.parametrize(
    ("couple", "at_c", "tolerance_k"),
    [
        # IEC 60584-1 class 2 (secondary copies): 2.5 K or 0.75 % for K, J, E, N; 1.0 or 0.75 % for T;
        # 1.5 K or 0.25 % for R, S; 0.25 % for B above 600 degC.
        ("K", 830.0, 6.225),
        ("K", 218.0, 2.5),
        ("N", 1000.0, 7.5),
        ("J", 400.0, 3.0),
        ("T", 100.0, 1.0),
        ("S", 1200.0, 3.0),
        ("R", 300.0, 1.5),
    ],
)
def test_tolerances_of_new_wire(couple: str, at_c: float, tolerance_k: float) -> None:
    assert wire_k(couple, "class 2", at_c) == pytest.approx(tolerance_k)


def test_an_unknown_sensor_has_no_tolerance() -> None:
    with pytest.raises(ConfigError, match="no class 2 tolerance"):
        wire_k("other", "class 2", 200.0)


def test_a_calibrated_sensor_counts_its_own_error_and_special_wire_its_class() -> None:
    """Two points near 830 °C leave less than class 2 of new wire (6.2 K there, IEC 60584-1)."""
    points = ((600.0, 598.0), (834.0, 830.0))
    assert limit_of_error_k(points, 830.0, point_error_k(points)) == pytest.approx(1.5, abs=0.1)
    assert wire_k("K", "class 2", 830.0) == pytest.approx(6.225)
    assert wire_k("K", "special", 830.0) == pytest.approx(3.32)
