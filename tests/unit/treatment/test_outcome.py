"""What a record says of its part."""

import re
from dataclasses import replace

import pytest

from kilnctl.profile.segments import Profile
from kilnctl.treatment.consequence import predicted_hrc
from kilnctl.treatment.outcome import PartSample, outcome
from kilnctl.treatment.steel.steels import load_steel
from kilnctl.treatment.steel.temper.dose import carbon_constant, equal_time_s, start_dose
from tests.trade_plans import planned

HEAT = {"kind": "ramp", "to": "870 C"}
OUT = {"kind": "operator", "step": "air cool", "say": "out", "hold": "870 C", "at_most": "10 min"}
COOL = {"kind": "cool", "to": "300 C"}


def profile(*segments: dict[str, str]) -> Profile:
    return Profile.model_validate({"name": "p", "segment": segments})


def fall(
    segment: int, from_c: float, to_c: float, rate_c_per_s: float, start_s: float = 0.0
) -> list[PartSample]:
    steps = int((from_c - to_c) / rate_c_per_s / 10.0)
    return [
        PartSample(start_s + n * 10.0, segment, from_c - n * 10.0 * rate_c_per_s) for n in range(steps + 1)
    ]


def test_a_normalise_that_cooled_in_the_shut_furnace_is_called_an_anneal() -> None:
    found = outcome(profile(HEAT, COOL), load_steel("1095"), fall(1, 870.0, 300.0, 0.05))
    assert found.rate_c_per_s == pytest.approx(0.05)
    assert found.cooled is not None
    assert "not normalised" in found.cooled.name
    assert "network" in found.to_dict()["warning"]


def test_hot_minutes_of_the_part() -> None:
    found = outcome(profile(HEAT, COOL), None, fall(1, 870.0, 300.0, 0.05))
    assert found.exposure.above_800_s == pytest.approx(70.0 / 0.05, abs=20.0)
    assert found.exposure.above_700_s == pytest.approx(170.0 / 0.05, abs=20.0)


def test_outside_the_oven_nothing_counts() -> None:
    """After the air cool was answered the oven's curve is not the part's any more."""
    looks = fall(0, 870.0, 860.0, 0.05) + fall(2, 860.0, 300.0, 0.05, start_s=500.0)
    found = outcome(profile(HEAT, OUT, COOL), load_steel("1095"), looks)
    assert found.cooled is None
    assert found.exposure.above_800_s == pytest.approx(200.0, abs=20.0)


def test_a_gap_counts_nothing() -> None:
    looks = [PartSample(0.0, 1, 850.0), PartSample(3600.0, 1, 850.0), PartSample(3610.0, 1, 850.0)]
    assert outcome(profile(HEAT, COOL), None, looks).exposure.above_800_s == 10.0


def test_a_temper_has_nothing_to_tell() -> None:
    looks = [PartSample(float(n), 1, 218.0) for n in range(100)]
    assert outcome(profile(HEAT, COOL), None, looks).to_dict() == {"above_700_s": 0.0, "above_800_s": 0.0}


def test_a_real_air_cooling_outside_is_named_with_its_estimate() -> None:
    """A 6 mm plate in still air: radiation and 10 W/m2K by hand near 600 °C are 43 W/m2K: about 2 °C/s."""
    profile = planned("5160", {"do": "normalise", "at": ("870 C",)}, section="6 mm").profile
    cool = next(n for n, s in enumerate(profile.segments) if getattr(s, "step", "") == "air cool")
    looks = [PartSample(10.0 * n, 1, 870.0) for n in range(60)]
    looks += [PartSample(600.0 + 10.0 * n, cool, 870.0) for n in range(5)]
    looks += [PartSample(700.0, cool + 1, 200.0)]
    found = outcome(profile, load_steel("5160"), looks).to_dict()
    said = found["cooled outside"]
    assert said.startswith("normalised")
    assert "estimated" in said
    rate = float(re.search(r"([0-9.]+) °C/s", said).group(1))  # type: ignore[union-attr]
    assert 1.3 < rate < 2.8


def test_an_anneal_that_was_too_quick_is_told() -> None:
    """1084: at most 28 degC/h from 815 to 650 degC (bladesmith data pages); below it nothing is asked."""
    anneal = {"do": "anneal", "type": "full", "at": "815 C"}
    plan = planned("1084", anneal, section="6 mm").profile
    slow = next(n for n, s in enumerate(plan.segments) if getattr(s, "rate_c_per_h", None) == 28.0)
    for rate_c_per_h, quick in ((180.0, True), (27.0, False)):
        looks = fall(slow, 815.0, 650.0, rate_c_per_h / 3600.0)
        looks += fall(slow + 1, 650.0, 400.0, 0.05, looks[-1].at_s + 10.0)
        warning = outcome(plan, load_steel("1084"), looks).to_dict().get("warning", "")
        assert ("too quick for the anneal" in warning) is quick


def test_a_part_that_went_back_glowing_was_not_normalised() -> None:
    """A 6 mm plate needs some 150 s from 870 to 500 °C in still air (about 2 °C/s between 700 and 500)."""
    back = {"kind": "operator", "step": "load", "say": "back", "at_most": "4h", "purpose": "normalise"}
    made = {"name": "p", "steel": "5160", "section": "6 mm", "segment": (HEAT, OUT, back, COOL)}
    looks = [PartSample(10.0 * n, 0, 870.0) for n in range(10)]
    looks += [PartSample(100.0, 1, 870.0), PartSample(110.0, 2, 870.0)]
    for back_s, says in ((40.0, "no normalise: put back after 40 s"), (1200.0, "out for 20 min")):
        found = outcome(
            Profile.model_validate(made), load_steel("5160"), [*looks, PartSample(110.0 + back_s, 3, 300.0)]
        )
        assert says in found.outside


def test_the_hardness_predicted_is_that_of_the_temper_that_was_done() -> None:
    """O1 of three published tables: 60-62 HRC at 205 and 230 °C, 55-57 at 315 °C."""
    temper = {"kind": "soak", "at": "205 C", "time": "4h", "purpose": "temper"}
    asked, o1 = profile(temper), load_steel("O1")
    planned_dose = start_dose(205.0, 4 * 3600.0, o1.carbon)
    as_planned = replace(planned_dose, equivalent_c_s=4.4 * 3600.0)
    hot_s = equal_time_s(315.0, 4 * 3600.0, 205.0, carbon_constant(o1.carbon))
    assert predicted_hrc(asked, o1, as_planned) == predicted_hrc(asked, o1)
    assert predicted_hrc(asked, o1, replace(planned_dose, equivalent_c_s=hot_s)) == pytest.approx(
        (55.0, 57.0), abs=0.2
    )
    assert predicted_hrc(asked, o1, planned_dose) == pytest.approx((63.0, 65.0), abs=2.1)
