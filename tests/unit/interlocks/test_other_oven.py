"""Another oven behind the file; on whole heats in tests/physics/test_other_oven.py."""

import pytest

from kilnctl.interlocks.other_oven import OtherOven
from kilnctl.readings import Alarm, Priority, Reaction, Trip, Unlike

USUAL = Unlike(1.1, 0.97, 0.4, 0.3)


def verdicts(interlock, seen, seconds, **change):
    return [interlock.check(seen(s, **change)) for s in range(seconds)]


@pytest.mark.parametrize(
    "found",
    [
        {"unlike": Unlike(0.58, 1.08, 1.9, 0.6)},
        {"unlike": Unlike(1.0, 1.7, 0.2, 4.0)},
        {"unlike": Unlike(1.5, 0.9, 1.8, 1.6)},
        {"drawn": 2.0},
    ],
)
def test_what_belongs_to_another_oven_is_called_at_once_and_stopped_after_a_minute(make, seen, found):
    said = verdicts(make(OtherOven), seen, 100, **found)
    assert isinstance(said[0], Alarm)
    assert said[0].priority is Priority.URGENT
    stop = next(v for v in said if isinstance(v, Trip))
    assert stop.at_s == 59.0
    assert (stop.reaction, stop.reset, stop.repeat_step) == (Reaction.STOP, "B", "learn")
    assert "is another oven behind this file?" in stop.reason


@pytest.mark.parametrize("found", [{"unlike": Unlike(1.3, 0.9, 1.2, 1.1)}, {"drawn": 1.25}])
def test_what_may_be_another_oven_is_called_and_goes_on(make, seen, found):
    said = verdicts(make(OtherOven), seen, 3600, **found)
    assert {type(v) for v in said} == {Alarm}


@pytest.mark.parametrize(
    "found",
    [
        {},
        {"unlike": USUAL, "drawn": 1.1},
        {"unlike": Unlike(1.6, 1.0, 2.5, 0.3)},  # a slow sensor alone
        {"unlike": Unlike(1.0, 0.5, 0.2, 8.0)},  # half an element: the balance of energy speaks
        {"drawn": 0.5},
    ],
)
def test_one_change_alone_is_no_other_oven(make, let_watch, found):
    assert let_watch(make(OtherOven), 3600, found) is None
