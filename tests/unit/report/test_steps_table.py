"""What was asked of a step, in a few words, as the first column of its line says it."""

from dataclasses import replace
from types import SimpleNamespace

import pytest
from heats import TWO_SEGMENTS

from kilnctl.errors import ProfileError
from kilnctl.profile.segments import Profile
from kilnctl.report.achieved import Achieved, counted_s
from kilnctl.report.steps_table import asked, steps
from kilnctl.tomlfile import loads

STEP = Achieved(
    index=0,
    kind="ramp",
    label="",
    goal_c=200.0,
    rate_asked_c_per_h=None,
    soak_asked_s=None,
    started_s=0.0,
    ended_s=60.0,
    rate_c_per_h=None,
    soak_s=None,
    low_c=None,
    high_c=None,
    mean_c=None,
    overshoot_k=None,
    energy_kwh=0.0,
)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "to 200 °C"),
        ({"rate_asked_c_per_h": 150.0}, "to 200 °C at 150 °C/h"),
        ({"kind": "soak", "soak_asked_s": 7200.0}, "200 °C for 2 h"),
        ({"kind": "operator"}, "by hand, oven 200 °C"),
        ({"kind": "operator", "goal_c": None}, "by hand"),
        ({"kind": "operator", "medium": "fast oil"}, "into fast oil"),
        ({"kind": "operator", "medium": "plates"}, "between plates"),
        ({"kind": "cool", "goal_c": None}, "no heat"),
    ],
)
def test_what_was_asked_of_a_step(changes: dict[str, object], words: str) -> None:
    assert asked(replace(STEP, **changes)) == words  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("soak_s", "counted"), [(119.0, 120.0), (118.0, 118.0), (130.0, 130.0), (None, None)]
)
def test_a_soak_that_lacks_only_the_tick_in_which_it_was_full_is_whole(
    soak_s: float | None, counted: float | None
) -> None:
    """A page once said "counted 119 s" beside "800 °C for 2 min" and "Done as planned"."""
    assert counted_s(replace(STEP, kind="soak", soak_asked_s=120.0, soak_s=soak_s), 1.0) == counted


def test_beside_a_soak_stands_how_far_from_its_goal_its_time_counted() -> None:
    """ "60 °C for 60 s, achieved 60 s" stood beside readings of 58.25 to 58.88 °C."""
    soak = loads(TWO_SEGMENTS, Profile, ProfileError, "x")
    record = SimpleNamespace(profile=soak, curve=[], header=SimpleNamespace(period_s=1.0, time_scale=2.0))
    parts = (replace(STEP, index=1, kind="soak", soak_asked_s=7200.0, goal_c=218.0), STEP)
    rows = steps(record, parts).rows  # type: ignore[arg-type]
    assert rows[0][2] == "218 °C for 2 h, counted within ± 5 °C"
    assert "count" not in rows[1][2]
