"""A start is read strictly: an order with a field that is wrong, missing or unknown is none."""

import json
from dataclasses import replace

import pytest

from kilnctl.errors import LinkError, ProfileError
from kilnctl.link.start import StartJob, args_of, start_of
from kilnctl.profile.segments import Profile
from kilnctl.tomlfile import loads

PROFILE = loads(
    """
name = "temper (invented)"
section = "4.3 mm"
goal_hrc = [60, 62]
[[segment]]
kind = "ramp"
to = "425 F"
rate = "100.1 C/h"
[[segment]]
kind = "operator"
step = "unload"
say = "out"
at_most = "10min"
""",
    Profile,
    ProfileError,
    "p",
)
START = StartJob(
    "oven", PROFILE, {"boot": "x"}, planned_s=(60.0, None), resume_within_s=900.0, acknowledged=("a", "b")
)


def test_it_comes_back_as_it_was_sent() -> None:
    assert start_of(json.loads(json.dumps(args_of(START)))) == START


@pytest.mark.parametrize("field", ["oven", "profile", "off_stamp"])
def test_what_has_no_default_must_be_there(field: str) -> None:
    args = {name: value for name, value in args_of(START).items() if name != field}
    with pytest.raises(LinkError, match=field):
        start_of(json.loads(json.dumps(args)))


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("unattended", "yes"),
        ("unattended", 1),
        ("time_scale", "1"),
        ("time_scale", float("nan")),
        ("wait_s", float("inf")),
        ("wait_s", -1.0),
        ("resume_within_s", float("nan")),
        ("presence", "somewhere"),
        ("way", "never"),
        ("acknowledged", "all of it"),
        ("off_stamp", []),
        ("off_stamp", {"boot": 1}),
        ("ceiling_c", 200.0),
    ],
)
def test_a_wrong_or_unknown_field_is_named(field: str, value: object) -> None:
    with pytest.raises(LinkError, match=rf"start\.{field}"):
        start_of(json.loads(json.dumps({**args_of(START), field: value})))


@pytest.mark.parametrize("args", [None, [], "start", {}])
def test_what_is_no_start_is_none(args: object) -> None:
    with pytest.raises(LinkError):
        start_of(args)


def test_what_a_person_answers_changes_no_other_field() -> None:
    answered = replace(START, presence="lamp", challenge="c")
    assert start_of(json.loads(json.dumps(args_of(answered)))).presence == "lamp"


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"name": 7}, "name"),
        ({"segment": []}, "nothing would be done"),
        ({"segment": [{"kind": "ramp", "to": 1500.0}]}, "must lie between"),
        ({"segment": [{"kind": "ramp", "to": float("nan")}]}, "to"),
        ({"segment": [{"kind": "ramp", "to": 218}]}, "to"),
        ({"segment": [{"kind": "ramp", "to": 218.0, "hold": 9.0}]}, "unknown key"),
        ({"ceiling": 3.0}, "unknown key"),
    ],
)
def test_a_profile_keeps_the_bounds_of_a_file(change: dict[str, object], says: str) -> None:
    args = args_of(START)
    with pytest.raises(ProfileError, match=says):
        start_of({**args, "profile": {**args["profile"], **change}})


def test_a_profile_that_is_no_table_is_none() -> None:
    with pytest.raises(ProfileError, match="not a table"):
        start_of({**args_of(START), "profile": "name = 'x'"})
