"""A segment's goal: one answer for the whole house, None where nothing is aimed at."""

import re
from pathlib import Path

import pytest

from kilnctl.heat.current_segment import segment_at
from kilnctl.heat.totals import RunTotals
from kilnctl.profile.segments import Operator, Profile, Ramp, Soak, goal_c

HEATS = Ramp.model_validate({"to": "218 C"})
HOLDS = Operator.model_validate({"step": "check", "say": "look", "at_most": "1 h", "hold": "60 C"})
WAITS = Operator.model_validate({"step": "load", "say": "put it in", "at_most": "1 h"})
SOAKS = Soak.model_validate({"at": "218 C", "time": "1 h"})


@pytest.mark.parametrize(("segment", "goal"), [(HEATS, 218.0), (SOAKS, 218.0), (HOLDS, 60.0), (WAITS, None)])
def test_a_step_without_heat_aims_at_nothing(segment, goal):
    profile = Profile.model_validate({"name": "p", "segment": (segment,)})
    totals = RunTotals().enter(profile, 0, 0.0)
    assert goal_c(segment) == segment_at(profile, 0).goal_c == totals.segments[0].goal_c == goal


def test_the_peak_is_of_what_is_heated():
    profile = Profile.model_validate({"name": "p", "segment": (WAITS, HEATS)})
    assert profile.peak_c == 218.0


def test_nobody_writes_the_chain_of_attributes_anew():
    """Three goal functions once gave three answers for a step without heat."""
    chain = re.compile(r"getattr\(\w+, \"(at_c|to_c|hold_c)\"")
    house = Path(__file__).parents[3] / "kilnctl"
    assert [p.name for p in house.rglob("*.py") if chain.search(p.read_text(encoding="utf-8"))] == []
