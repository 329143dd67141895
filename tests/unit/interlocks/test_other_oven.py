"""Another oven behind the file; on whole heats in tests/physics/test_other_oven.py."""

import pytest

from kilnctl.interlocks.other_oven import OtherOven
from kilnctl.readings import Alarm, LinkHealth, Priority, Quality, Reaction, Reading, Trip, Unlike

USUAL = Unlike(1.1, 0.97, 0.4, 0.3)
FAR = Unlike(0.58, 1.08, 1.9, 0.6)


def verdicts(interlock, seen, seconds, **change):
    return [interlock.check(seen(s, **change)) for s in range(seconds)]


@pytest.mark.parametrize(
    "found",
    [
        {"unlike": FAR},
        {"unlike": Unlike(1.0, 1.7, 0.2, 4.0)},
        {"unlike": Unlike(1.5, 0.9, 1.8, 1.6)},
        {"drawn": 2.0},
    ],
)
def test_what_belongs_to_another_oven_is_called_at_once_and_stopped_after_a_minute(make, seen, found):
    said = verdicts(make(OtherOven), seen, 100, unattended=True, **found)
    assert isinstance(said[0], Alarm)
    assert said[0].priority is Priority.URGENT
    stop = next(v for v in said if isinstance(v, Trip))
    assert stop.at_s == 59.0
    assert (stop.reaction, stop.reset, stop.repeat_step) == (Reaction.STOP, "B", "learn")
    assert "is this another oven's file?" in stop.reason


def test_an_element_that_draws_far_too_much_is_stopped_with_somebody_there_too(make, seen):
    said = verdicts(make(OtherOven), seen, 100, drawn=2.0)
    assert next(v for v in said if isinstance(v, Trip)).at_s == 59.0


def test_below_what_the_lowest_temper_needs_it_is_called_and_not_stopped(make, seen):
    """150 degC is the lowest temper of the trade (handbook tables): whatever oven it is stands 130."""
    interlock, far = make(OtherOven), {"unlike": FAR, "unattended": True}
    cool = [interlock.check(seen(s, process_c=129.0, **far)) for s in range(600)]
    assert {type(v) for v in cool} == {Alarm}
    assert isinstance(interlock.check(seen(600, process_c=130.0, **far)), Trip)


def test_a_measured_current_stops_a_cool_oven_too(make, seen):
    said = verdicts(make(OtherOven), seen, 100, process_c=60.0, drawn=2.0)
    assert next(v for v in said if isinstance(v, Trip)).at_s == 59.0


@pytest.mark.parametrize(
    "unsound",
    [
        {"door_open": True},
        {"process": Reading.bad(Quality.NO_REPLY, "silent", 0.0)},
        {"heat_on": None},
        {"link": LinkHealth(bad_fraction=0.1)},
    ],
)
def test_it_pauses_where_an_observation_says_nothing_of_the_oven(make, seen, unsound):
    """Told before, it goes on telling; what is seen meanwhile neither begins nor stops anything."""
    told, fresh = make(OtherOven), make(OtherOven)
    far = {"unlike": FAR, "unattended": True}
    before = [told.check(seen(s, **far)) for s in range(30)]
    meanwhile = [told.check(seen(s, **far, **unsound)) for s in range(30, 600)]
    assert {type(v) for v in before + meanwhile} == {Alarm}
    assert isinstance(told.check(seen(600, **far)), Alarm)
    assert [fresh.check(seen(s, **far, **unsound)) for s in range(600)] == [None] * 600


def test_a_frozen_reading_is_not_judged(make, seen):
    """The frozen sensor's own interlock names it."""
    interlock = make(OtherOven)
    far = {"unlike": FAR, "unattended": True}
    said = [interlock.check(seen(s, raw=5000, **far)) for s in range(600)]
    assert Trip not in {type(v) for v in said}


@pytest.mark.parametrize("found", [{"unlike": FAR}, {"unlike": Unlike(1.3, 0.9, 1.2, 1.1)}, {"drawn": 1.25}])
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
