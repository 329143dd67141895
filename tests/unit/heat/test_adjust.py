"""What a person may change in a running heat: longer, lower, next; never hotter, never nonsense."""

import math
from typing import Any

import pytest

from kilnctl.errors import ProfileError
from kilnctl.heat.adjust import LONGEST_S, adjusted, why_not
from kilnctl.profile.cursor import Cursor
from kilnctl.profile.segments import Profile
from kilnctl.tomlfile import loads

PROFILE = loads(
    """
name = "adjusted (invented)"
[[segment]]
kind = "ramp"
to = "200 C"
rate = "300 C/h"
[[segment]]
kind = "soak"
at = "200 C"
time = "1h"
[[segment]]
kind = "cool"
to = "50 C"
""",
    Profile,
    ProfileError,
    "test.toml",
)
RAMP, SOAK, COOL = range(3)


@pytest.mark.parametrize(
    ("index", "args", "why"),
    [
        (SOAK, {"what": "longer", "by_s": 60.0}, ""),
        (SOAK, {"what": "longer", "by_s": LONGEST_S}, ""),
        (SOAK, {"what": "longer", "by_s": LONGEST_S + 1.0}, "say by how much"),
        (SOAK, {"what": "longer", "by_s": 0}, "say by how much"),
        (SOAK, {"what": "longer", "by_s": math.nan}, "say by how much"),
        (SOAK, {"what": "longer"}, "say by how much"),
        (SOAK, {"what": "longer", "by_s": "1h"}, "say by how much"),
        (RAMP, {"what": "longer", "by_s": 60.0}, "only a soak"),
        (SOAK, {"what": "lower", "to_c": 200.0}, ""),
        (SOAK, {"what": "lower", "to_c": 200.1}, "only go down from 200 °C"),
        (RAMP, {"what": "lower", "to_c": 150.0}, ""),
        (RAMP, {"what": "lower", "to_c": 0.0}, "only go down"),
        (RAMP, {"what": "lower", "to_c": math.nan}, "only go down"),
        (COOL, {"what": "lower", "to_c": 40.0}, "only a ramp or a soak"),
        (COOL, {"what": "next"}, ""),
        (3, {"what": "next"}, "the heat is over"),
        (SOAK, {"what": "higher", "to_c": 300.0}, "takes: longer, lower, next"),
        (SOAK, {}, "takes: longer, lower, next"),
    ],
)
def test_what_may_be_asked(index: int, args: dict[str, Any], why: str) -> None:
    said = why_not(PROFILE, Cursor(index), args)
    assert why in said
    assert bool(said) is bool(why)


def test_a_lowered_goal_and_a_longer_soak_leave_the_other_segments_alone() -> None:
    lower, cursor = adjusted(PROFILE, Cursor(RAMP, 5.0), {"what": "lower", "to_c": 150.0})
    assert cursor == Cursor(RAMP, 5.0)
    assert lower.segments[RAMP].to_c == 150.0  # type: ignore[union-attr]
    longer, _ = adjusted(PROFILE, Cursor(SOAK), {"what": "longer", "by_s": 60})
    assert longer.segments[SOAK].soak_s == 3660.0  # type: ignore[union-attr]
    assert (longer.segments[RAMP], longer.segments[COOL]) == (PROFILE.segments[RAMP], PROFILE.segments[COOL])


def test_the_next_segment_begins_fresh_and_after_the_last_the_heat_is_complete() -> None:
    before = Cursor(RAMP, 50.0, 120.0, carry_s=600.0)
    _, cursor = adjusted(PROFILE, before, {"what": "next"})
    assert (cursor.segment, cursor.segment_s, cursor.setpoint_c, cursor.ending) == (SOAK, 0.0, 120.0, "")
    assert adjusted(PROFILE, Cursor(COOL), {"what": "next"})[1].ending == "complete"
