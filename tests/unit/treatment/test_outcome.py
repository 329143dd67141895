"""What a record says of its part."""

import pytest

from kilnctl.profile.segments import Profile
from kilnctl.treatment.outcome import PartSample, outcome
from kilnctl.treatment.steel.steels import load_steel

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
