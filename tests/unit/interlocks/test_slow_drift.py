"""The holding duty as a second thermometer, on numbers of its own: what tells, what trips, what explains it.

That 1 - 0.9^2 = 0.19 of the heat goes with a tenth of the volts is Joule's law; the falls under a drift and
on sound ovens are measured (tests/bench/slow_drift.md).
"""

from dataclasses import replace

import pytest

from kilnctl.interlocks.slow_drift import SETTLE_S, SlowDrift
from kilnctl.readings import Alarm, Reading, ResetClass, Trip

HOUR_S = 3600


def falling(by: float, from_s: float = 1800.0, over_s: float = 1800.0, **more: object):
    """Return a hold in which the unexplained heat falls by a share of full power.

    Its walls are soaked through, so that the duty rises by what is missing.
    """

    def at(s: float) -> dict[str, object]:
        fallen = by * min(max((s - from_s) / over_s, 0.0), 1.0)
        return {"unexplained": 0.1 - fallen, "duty_asked": 0.35 + fallen, **more}

    return at


def test_20_k_in_half_an_hour_are_told_before_they_are_reached(make, let_watch):
    told = let_watch(make(SlowDrift, learned=True), HOUR_S, falling(0.06))
    assert isinstance(told, Alarm)
    assert 1800.0 < told.at_s < 3600.0
    assert "K hotter than it reads" in told.reason


def test_a_wall_that_drinks_longer_than_its_model_says_is_told_and_does_not_trip(make, seen):
    """The duty stays, and the model expected a third of it less (two zones, measured: 0.15 of full power)."""
    flat = falling(0.15, duty_asked=0.30)
    assert isinstance(last_of(make(SlowDrift, learned=True), seen, flat), Alarm)
    rises = falling(0.20)
    assert isinstance(last_of(make(SlowDrift, learned=True), seen, rises), Trip)


def last_of(interlock, seen, change) -> Trip | Alarm | None:
    """Return what an interlock says at the end of two hours, or its first trip."""
    said = None
    for s in range(2 * HOUR_S):
        said = interlock.check(seen(float(s), **change(float(s))))
        if isinstance(said, Trip):
            break
    return said


def test_what_a_supply_of_85_percent_explains_is_told_and_more_than_that_trips(make, seen):
    assert isinstance(last_of(make(SlowDrift, learned=True), seen, falling(0.28 * 0.35)), Alarm)
    trip = last_of(make(SlowDrift, learned=True), seen, falling(0.20))
    assert isinstance(trip, Trip)
    assert (trip.reset, trip.repeat_step) == (ResetClass.B, "reference check")


def test_with_measured_volts_a_sag_is_explained_and_the_same_without_it_trips(make, let_watch, seen):
    def sag(s: float) -> dict[str, object]:
        share = 1.0 - 0.1 * min(max((s - 1800.0) / 1800.0, 0.0), 1.0)
        less = 0.35 * (1.0 - share**2)
        return {"unexplained": 0.1 - less, "duty_asked": 0.35, "supply_v": Reading.of(230.0 * share, s)}

    interlock = make(SlowDrift, learned=True, supply_v=230.0)
    assert let_watch(interlock, 2 * HOUR_S, sag) is None
    steady = falling(0.07, supply_v=Reading.of(230.0, 0.0))
    assert isinstance(last_of(make(SlowDrift, learned=True, supply_v=230.0), seen, steady), Trip)


@pytest.mark.parametrize("by", [0.025, -0.2])
def test_what_sound_holds_do_is_a_near_miss_and_a_rise_is_none(make, let_watch, by):
    interlock = make(SlowDrift, learned=True)
    assert let_watch(interlock, 4 * HOUR_S, falling(by)) is None


def test_what_the_learning_heat_left_unexplained_is_allowed_before_it_trips_and_told_as_before(
    make, seen, limits
):
    for unexplained, kind in ((0.0, Trip), (0.06, Trip), (0.11, Alarm)):
        model = replace(limits.model, unexplained=unexplained)
        said = last_of(make(SlowDrift, learned=True, model=model), seen, falling(0.2))
        assert isinstance(said, kind)


def test_a_fall_while_it_settles_says_nothing(make, let_watch):
    early = falling(0.2, 0.0, SETTLE_S - 300.0)
    assert let_watch(make(SlowDrift, learned=True), HOUR_S, early) is None


@pytest.mark.parametrize(
    "change",
    [{"door_open": True}, {"process_c": 494.0}, {"setpoint_c": 505.0}, {"unexplained": None}],
)
def test_what_is_no_hold_begins_anew(make, let_watch, change):
    interlock = make(SlowDrift, learned=True)
    assert let_watch(interlock, 1500, falling(0.0)) is None
    assert let_watch(interlock, 60, {"unexplained": 0.1, "duty_asked": 0.35, **change}, 1501.0) is None
    assert let_watch(interlock, 500, {"unexplained": -0.2, "duty_asked": 0.35}, 1562.0) is None
    assert interlock.distance().note


def test_a_single_reading_off_the_goal_does_not_begin_anew(make, let_watch):
    spiky = lambda s: {**falling(0.06)(s), "process_c": 550.0 if s % 100 == 0 else 500.0}  # noqa: E731
    assert let_watch(make(SlowDrift, learned=True), HOUR_S, spiky) is not None


def test_an_oven_that_is_not_learned_is_said_to_be_blind(make, let_watch):
    interlock = make(SlowDrift)
    assert let_watch(interlock, HOUR_S, {"unexplained": None}) is None
    assert "learned" in interlock.distance().note
