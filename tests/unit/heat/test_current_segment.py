"""What is looked up once a segment."""

from kilnctl.errors import ProfileError
from kilnctl.heat.current_segment import CurrentSegment, segment_at
from kilnctl.profile.cursor import numbers_of
from kilnctl.profile.segments import Profile, Soak
from kilnctl.tomlfile import loads

EVERY_KIND = """
name = "every kind (invented)"
[[segment]]
kind = "ramp"
to = "200 C"
rate = "100 C/h"
[[segment]]
kind = "soak"
at = "200 C"
time = "1h"
[[segment]]
kind = "operator"
step = "check"
say = "look at it"
at_most = "10min"
[[segment]]
kind = "cool"
to = "60 C"
"""


def test_every_kind_is_told_as_it_is() -> None:
    profile = loads(EVERY_KIND, Profile, ProfileError, "profile")
    found = [segment_at(profile, index) for index in range(4)]
    assert [now.segment for now in found] == list(profile.segments)
    assert [now.following for now in found] == [*profile.segments[1:], None]
    assert [now.kind for now in found] == ["ramp", "soak", "operator", "cool"]
    assert [now.goal_c for now in found] == [200.0, 200.0, None, 60.0]
    assert [now.rate_c_per_h for now in found] == [100.0, None, None, None]
    soak = profile.segments[1]
    assert isinstance(soak, Soak)
    assert [now.soak for now in found] == [None, numbers_of(soak), None, None]


def test_after_the_last_segment_there_is_nothing() -> None:
    profile = loads(EVERY_KIND, Profile, ProfileError, "profile")
    assert segment_at(profile, 4) == CurrentSegment()


def test_only_a_temper_tempers() -> None:
    """A furnace that hardens and then tempers: its minutes at 810 degC are no dose, nor what comes after."""
    heats = (("harden", "810 C"), ("temper", "205 C"), ("snap temper", "205 C"))
    soaks = tuple({"kind": "soak", "at": at, "time": "1h", "purpose": purpose} for purpose, at in heats)
    profile = Profile.model_validate({"name": "p", "segment": soaks})
    assert [segment_at(profile, n).tempers for n in range(4)] == [False, True, True, False]


def test_a_part_that_is_not_in_the_oven_is_not_tempered() -> None:
    load = {"kind": "operator", "step": "load", "say": "put it in", "at_most": "5min"}
    soaks = tuple({"kind": "soak", "at": "205 C", "time": "1h", "purpose": "temper"} for _ in range(2))
    profile = Profile.model_validate({"name": "p", "segment": (soaks[0], load, soaks[1])})
    assert [segment_at(profile, n).tempers for n in range(3)] == [False, False, True]
