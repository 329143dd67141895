import pytest

from kilnctl.interlocks.supply import Supply
from kilnctl.readings import Alarm, Reaction, Reading


def volts(v):
    return {"supply_v": Reading.of(v, 0.0)}


@pytest.mark.parametrize(("v", "reaction"), [(276.0, Reaction.TRIP), (0.0, Reaction.STOP)])
def test_20_percent_too_much_trips_and_none_stops(make, let_watch, v, reaction):
    verdict = let_watch(make(Supply), 10, volts(v))
    assert verdict.reaction is reaction
    assert verdict.at_s == 2.0


def test_15_percent_too_little_is_told_and_heats_on(make, let_watch):
    verdict = let_watch(make(Supply), 10, volts(195.5))
    assert isinstance(verdict, Alarm)
    assert "low: " in verdict.reason


def test_a_normal_supply_and_a_dip_of_two_seconds_are_near_misses(make, let_watch):
    assert let_watch(make(Supply), 600, volts(252.0)) is None
    assert let_watch(make(Supply), 600, volts(205.0)) is None
    assert let_watch(make(Supply), 600, lambda s: volts(100.0 if s % 10 < 2 else 230.0)) is None
