"""A curve as a temper: what is held is counted as it stands, and a curve that is none is refused."""

import pytest

from kilnctl.errors import ProfileError
from kilnctl.treatment.steel.temper.curve_dose import curve_dose_s
from kilnctl.treatment.steel.temper.dose import equal_time_s


def test_a_hold_at_the_temperature_itself_counts_second_by_second() -> None:
    assert curve_dose_s([(0.0, 218.0), (7200.0, 218.0)], 218.0, 20.0) == pytest.approx(7200.0)


def test_a_hold_elsewhere_counts_as_hollomon_and_jaffe_say() -> None:
    """2 h at 218 °C is 39 min at 230 °C with the constant 20 (by hand from T(C + log t))."""
    found_s = curve_dose_s([(0.0, 218.0), (7200.0, 218.0)], 230.0, 20.0)
    assert found_s == pytest.approx(equal_time_s(218.0, 7200.0, 230.0), rel=1e-6)
    assert found_s == pytest.approx(39 * 60, rel=0.02)


def test_a_ramp_on_the_way_adds_a_little() -> None:
    held_s = curve_dose_s([(0.0, 218.0), (7200.0, 218.0)], 218.0, 20.0)
    with_ramp_s = curve_dose_s([(0.0, 20.0), (3600.0, 218.0), (10800.0, 218.0)], 218.0, 20.0)
    assert held_s < with_ramp_s < held_s + 600.0


@pytest.mark.parametrize("curve", [[(0.0, 218.0)], [(0.0, 218.0), (0.0, 220.0)]])
def test_what_is_no_curve_is_refused(curve: list[tuple[float, float]]) -> None:
    with pytest.raises(ProfileError):
        curve_dose_s(curve, 218.0, 20.0)
