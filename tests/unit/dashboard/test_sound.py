"""When the bell of the screen sounds."""

import dataclasses

import pytest
from dashboard.feed import (
    heating,
    ready,
    soaking,
    tempering,
    tripped,
    waiting,
)

from kilnctl.dashboard.sound import Bell, bell_every_s, call_of
from kilnctl.dashboard.view_state import View
from kilnctl.link.snapshot import Snapshot


def view(s: Snapshot, age_s: float = 0.0) -> View:
    return View(s, age_s=age_s)


@pytest.mark.parametrize(
    ("shown", "every_s"),
    [
        (view(heating()), None),
        (view(heating(), 9.9), None),
        (view(heating(), 10.0), 5.0),
        (view(ready()), 2.0),
        (view(dataclasses.replace(ready(), elapsed_s=12300.0)), 1.0),
        (view(waiting()), 30.0),
        (view(tripped()), 2.0),
        (view(dataclasses.replace(tripped(), alarms=tripped().alarms[1:2])), None),
    ],
    ids=["well", "9.9 s", "10 s", "ready", "late", "waiting", "trip", "trip acknowledged"],
)
def test_when_the_bell_sounds(shown: View, every_s: float | None) -> None:
    assert bell_every_s(shown) == every_s


def test_each_stage_is_called_once() -> None:
    calls = [call_of(view(s)) for s in (heating(), soaking(), ready(), tripped())]
    assert calls == ["", "T-10", "READY", "trip"]


def test_the_oven_that_is_not_shown_is_heard_and_turning_to_it_is_no_new_call() -> None:
    bell, temper, trip = Bell(), view(tempering()), view(tripped())
    assert not bell.due([temper], 0.0)
    assert bell.new_trip([temper, trip])
    assert bell.due([temper, trip], 1.0)
    assert not bell.new_trip([trip, temper])
    assert not bell.due([trip, temper], 1.5)
    assert bell.due([trip, temper], 3.0), "a trip sounds every two seconds"
