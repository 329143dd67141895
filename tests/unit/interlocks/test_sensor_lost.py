import pytest

from kilnctl.interlocks.sensor_lost import SensorLost
from kilnctl.readings import Alarm, Quality, Reading, Trip


def bad(quality):
    return {"process": Reading.bad(quality, "for the test", 0.0)}


@pytest.mark.parametrize(
    ("quality", "ticks"), [(Quality.OPEN, 2), (Quality.OUT_OF_RANGE, 3), (Quality.NOT_FINITE, 3)]
)
def test_bad_readings_in_a_row_trip(make, let_watch, quality, ticks):
    trip = let_watch(make(SensorLost), 10, bad(quality))
    assert trip.at_s == ticks - 1
    assert trip.reason.startswith(str(quality).removeprefix("sensor "))


def every(seconds, quality):
    return lambda s: bad(quality) if s % seconds == seconds - 1 else {}


@pytest.mark.parametrize(
    ("seconds", "quality", "within_s"),
    [(2, Quality.OPEN, 15), (5, Quality.OPEN, 30), (9, Quality.OPEN, 60), (3, Quality.UNCONFIRMED, 60)],
)
def test_a_sensor_that_comes_and_goes_trips_by_its_share(make, seen, seconds, quality, within_s):
    """A loose terminal: open one second in five through a whole soak was never told."""
    lost, change = make(SensorLost), every(seconds, quality)
    verdicts = (lost.check(seen(s, **change(s))) for s in range(200))
    trip = next(v for v in verdicts if isinstance(v, Trip))
    assert trip.at_s <= within_s
    assert "of the readings" in trip.reason


@pytest.mark.parametrize(("seconds", "quality"), [(30, Quality.OPEN), (10, Quality.UNCONFIRMED)])
def test_a_bad_reading_now_and_then_does_not(make, let_watch, seconds, quality):
    assert let_watch(make(SensorLost), 3600, every(seconds, quality)) is None


def test_readings_that_go_bad_more_often_are_told_before_they_trip(make, let_watch):
    told = let_watch(make(SensorLost), 200, every(15, Quality.OPEN))
    assert isinstance(told, Alarm)
    assert "terminals" in told.reason


def test_a_silent_wire_is_not_the_sensor(make, let_watch):
    assert let_watch(make(SensorLost), 60, bad(Quality.NO_REPLY)) is None
