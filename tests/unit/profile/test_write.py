"""A profile written to a file loads to the same profile."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kilnctl.config.home import known
from kilnctl.config.oven import load_oven
from kilnctl.errors import ProfileError
from kilnctl.profile.segments import Profile
from kilnctl.profile.write import profile_toml
from kilnctl.tomlfile import loads
from kilnctl.treatment.job_file import load_job, oven_of
from kilnctl.treatment.planning import soak_job


def again(profile: Profile) -> Profile:
    return loads(profile_toml(profile), Profile, ProfileError, "written")


@pytest.mark.parametrize("name", sorted(known("recipes")))
def test_bundled_plans_round_trip(name: str) -> None:
    path = known("recipes")[name]
    oven = load_oven(known("ovens")[oven_of(path)])
    profile = load_job(path, oven).profile
    assert again(profile) == profile


@given(at_c=st.floats(60, 250).map(lambda v: round(v, 2)), soak_s=st.integers(1, 48 * 3600))
def test_any_soak_round_trips(at_c: float, soak_s: int) -> None:
    profile = soak_job(at_c, float(soak_s), load_oven(known("ovens")["tempering-oven"]))
    assert again(profile) == profile
