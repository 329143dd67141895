"""States after ISA-18.2 / IEC 62682 (the list of states as given in published summaries of the standard)."""

import random

import pytest

from kilnctl.interlocks.alarms import AlarmList, AlarmState, shelf_s
from kilnctl.readings import Alarm, Priority

SUPPLY = Alarm("supply", "supply low", 0.0, Priority.LATER)
DOOR = Alarm("door_open", "open", 0.0, Priority.URGENT)


def states(alarms):
    return {s.kind: s.state for s in alarms.shown()}


def test_an_alarm_comes_is_seen_and_goes():
    alarms = AlarmList().see((SUPPLY,), 0.0)
    assert states(alarms) == {"supply": AlarmState.NEW}
    alarms = alarms.acknowledge(1.0)
    assert states(alarms) == {"supply": AlarmState.SEEN}
    assert alarms.see((SUPPLY,), 2.0).see((), 30.0).active
    assert not alarms.see((), 100.0).active


def test_an_alarm_that_goes_unseen_stays_until_it_is_seen():
    alarms = AlarmList().see((SUPPLY,), 0.0).see((), 100.0)
    assert states(alarms) == {"supply": AlarmState.GONE}
    assert alarms.see((), 5000.0).active
    assert not alarms.acknowledge(5001.0).active


def test_acknowledging_is_not_resetting():
    alarms = AlarmList().latch("over_temperature", "866 °C", 0.0)
    assert states(alarms.reset("over_temperature")) == {"over_temperature": AlarmState.LATCHED_NEW}
    alarms = alarms.acknowledge(1.0).see((), 9999.0)
    assert states(alarms) == {"over_temperature": AlarmState.LATCHED_SEEN}
    assert not alarms.reset("over_temperature").active


def test_the_first_cause_is_marked_and_what_follows_is_not():
    alarms = AlarmList().see((SUPPLY,), 0.0).latch("sensor_lost", "open", 1.0).see((DOOR,), 2.0)
    alarms = alarms.latch("link_lost", "silent", 3.0)
    assert [s.kind for s in alarms.shown() if s.first_out] == ["sensor_lost"]
    assert alarms.shown()[0].kind == "sensor_lost"


def test_noise_on_a_limit_for_ten_minutes_is_one_alarm():
    draw = random.Random(7)
    alarms = AlarmList()
    for second in range(600):
        alarms = alarms.see((SUPPLY,) if draw.gauss(0.0, 1.0) > 0.0 else (), float(second))
    assert len(alarms.summary()) == 1


def test_an_alarm_that_comes_back_after_it_was_dealt_with_is_a_new_one():
    before = AlarmList().see((SUPPLY,), 0.0).acknowledge(1.0).see((), 100.0)
    alarms = before.see((SUPPLY,), 200.0)
    assert [a.kind for a in alarms.fresh(before)] == ["supply"]


def test_shelving_ends_by_itself_and_never_covers_a_trip():
    alarms = AlarmList().see((SUPPLY,), 0.0).shelve("supply", 600.0, 0.0)
    assert states(alarms.see((SUPPLY,), 599.0)) == {"supply": AlarmState.SHELVED}
    assert states(alarms.see((SUPPLY,), 600.0)) == {"supply": AlarmState.NEW}
    with pytest.raises(ValueError, match="trip"):
        AlarmList().latch("smoke", "smoke", 0.0).shelve("smoke", 600.0, 0.0)
    with pytest.raises(ValueError, match="60 min"):
        alarms.shelve("supply", 7200.0, 0.0)


def test_the_urgent_stands_first():
    alarms = AlarmList().see((SUPPLY,), 0.0).see((SUPPLY, DOOR), 1.0)
    assert [s.kind for s in alarms.shown()] == ["door_open", "supply"]


def test_what_cannot_be_shelved_is_said():
    alarms = AlarmList().see((SUPPLY,), 0.0).latch("smoke", "smoke", 1.0)
    assert "trip cannot be shelved" in alarms.why_not_shelve("smoke", 60.0)
    assert "there is: supply" in alarms.why_not_shelve("noise", 60.0)
    assert "60 min at most" in alarms.why_not_shelve("supply", 3601.0)
    assert "60 min at most" in alarms.why_not_shelve("supply", shelf_s({"for_s": "long"}))
    assert alarms.why_not_shelve("supply", 3600.0) == ""


def test_a_shelved_alarm_says_when_it_comes_back_and_is_told_when_it_does():
    shelved = AlarmList().see((SUPPLY,), 0.0).shelve("supply", 600.0, 0.0)
    assert shelved.shown()[0].words(60.0) == "supply low (shelved, back in 9 min)"
    still = shelved.see((SUPPLY,), 599.0)
    assert still.back_from_shelf(shelved) == ()
    back = still.see((SUPPLY,), 600.0)
    assert [s.kind for s in back.back_from_shelf(still)] == ["supply"]
    assert states(back) == {"supply": AlarmState.NEW}


def test_a_shelved_alarm_that_becomes_a_trip_is_shown():
    alarms = AlarmList().see((SUPPLY,), 0.0).shelve("supply", 600.0, 0.0).latch("supply", "volts", 1.0)
    assert states(alarms) == {"supply": AlarmState.LATCHED_NEW}


def test_an_alarm_that_was_acknowledged_stays_as_it_is_when_it_is_acknowledged_again():
    seen = AlarmList().see((Alarm("supply", "low", 0.0),), 0.0).acknowledge(1.0)
    again = seen.acknowledge(2.0)
    assert [(s.kind, s.state) for s in again.shown()] == [("supply", AlarmState.SEEN)]
    shelved = seen.shelve("supply", 600.0, 3.0).acknowledge(4.0)
    assert [s.state for s in shelved.shown()] == [AlarmState.SHELVED]


def test_an_alarm_that_has_gone_is_told_once_with_when_it_last_held_true():
    """By hand: true from 0 to 40 s; it counts as gone a minute later, and is told then, seen or not."""
    for seen in (False, True):
        alarms = AlarmList()
        told = []
        for at_s in range(0, 200, 10):
            before, raised = alarms, (DOOR,) if at_s <= 40 else ()
            alarms = alarms.see(raised, float(at_s))
            told += [(at_s, gone.since_s, gone.seen_s) for gone in alarms.over(before)]
            alarms = alarms.acknowledge(float(at_s)) if seen and at_s == 20 else alarms
        assert told == [(100, 0.0, 40.0)]
