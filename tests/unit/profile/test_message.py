"""A profile over the socket is the same profile, and what is none is refused in one line."""

import json

import pytest

from kilnctl.errors import ProfileError
from kilnctl.profile.message import data_of, profile_of
from kilnctl.profile.segments import Profile

TEMPER = Profile.model_validate(
    {
        "name": "temper (invented)",
        "segment": (
            {"kind": "ramp", "to": "424.4 F", "rate": "180 C/h"},
            {"kind": "soak", "at": "424.4 F", "time": "2 h"},
            {"kind": "cool", "to": "60 C"},
        ),
    }
)


def test_it_comes_back_as_it_went() -> None:
    assert profile_of(json.loads(json.dumps(data_of(TEMPER)))) == TEMPER


@pytest.mark.parametrize("data", [None, [], "temper", {"name": "x", "segment": [], "more": 1}])
def test_what_is_no_profile_is_refused(data: object) -> None:
    with pytest.raises(ProfileError):
        profile_of(data)


def test_a_number_beyond_a_files_bounds_is_refused_here_too() -> None:
    data = data_of(TEMPER)
    data["segment"][1]["at"] = 5000.0
    with pytest.raises(ProfileError):
        profile_of(data)
