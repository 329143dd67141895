import pytest

from kilnctl.interlocks.sensor_lost import SensorLost
from kilnctl.readings import Quality, Reading


def bad(quality):
    return {"process": Reading.bad(quality, "for the test", 0.0)}


@pytest.mark.parametrize(
    ("quality", "ticks"), [(Quality.OPEN, 2), (Quality.OUT_OF_RANGE, 3), (Quality.NOT_FINITE, 3)]
)
def test_bad_readings_in_a_row_trip(make, let_watch, quality, ticks):
    trip = let_watch(make(SensorLost), 10, bad(quality))
    assert trip.at_s == ticks - 1
    assert str(quality) in trip.reason


@pytest.mark.parametrize("quality", [Quality.OPEN, Quality.UNCONFIRMED])
def test_single_bad_readings_among_good_ones_do_not(make, let_watch, quality):
    every_other = lambda s: bad(quality) if s % 2 else {}  # noqa: E731
    assert let_watch(make(SensorLost), 200, every_other) is None


def test_a_silent_wire_is_not_the_sensor(make, let_watch):
    assert let_watch(make(SensorLost), 60, bad(Quality.NO_REPLY)) is None
