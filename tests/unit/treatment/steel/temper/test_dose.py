"""Adding up a temper."""

import pytest

from kilnctl.profile.segments import Profile
from kilnctl.treatment.steel.temper.dose import advance_dose, dose_for, equivalent_s, remaining_s, start_dose


def test_time_at_the_goal_counts_as_itself() -> None:
    dose = start_dose(218.0, 7200.0, 0.84)
    for _ in range(100):
        dose = advance_dose(dose, 218.0, 36.0)
    assert list(equivalent_s(dose).values()) == pytest.approx([3600.0, 3600.0])
    assert remaining_s(dose) == pytest.approx(3600.0)


def test_small_steps_and_large_steps_agree() -> None:
    coarse = fine = start_dose(200.0, 7200.0, 0.95)
    coarse = advance_dose(advance_dose(coarse, 200.0, 1800.0), 230.0, 600.0)
    for n in range(2400):
        fine = advance_dose(fine, 200.0 if n < 1800 else 230.0, 1.0)
    assert fine.equivalent20_s == pytest.approx(coarse.equivalent20_s, rel=1e-6)


def test_cold_time_counts_nothing_and_nothing_is_taken_back() -> None:
    dose = advance_dose(start_dose(218.0, 7200.0, 0.84), 218.0, 1800.0)
    later = advance_dose(dose, 25.0, 8 * 3600.0)
    assert dose.equivalent20_s <= later.equivalent20_s < dose.equivalent20_s + 1.0


def test_the_longer_of_both_constants_remains() -> None:
    dose = advance_dose(start_dose(218.0, 7200.0, 0.84), 235.0, 600.0)
    assert dose.equivalent20_s > dose.equivalent_c_s
    assert remaining_s(dose) == pytest.approx(7200.0 - dose.equivalent_c_s)


def test_a_profile_without_temper_has_no_dose() -> None:
    ramp = {"kind": "ramp", "to": "830 C"}
    assert dose_for(Profile.model_validate({"name": "p", "segment": (ramp,)})) is None


def test_all_tempers_of_a_profile_count_together() -> None:
    soak = {"kind": "soak", "at": "218 C", "time": "2h", "purpose": "temper"}
    profile = Profile.model_validate({"name": "p", "steel": "O1", "segment": (soak, soak)})
    dose = dose_for(profile)
    assert dose is not None
    assert (dose.goal_c, dose.goal_s) == (218.0, 4 * 3600.0)
