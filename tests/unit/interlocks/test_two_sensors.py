from dataclasses import replace

import pytest

from kilnctl.interlocks.over_temperature import OverTemperature
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.interlocks.two_sensors import TwoSensors
from kilnctl.model.nameplate import nameplate
from kilnctl.readings import Alarm, Quality, Reading


def second(gap_k, process_c=500.0):
    return {"process_c": process_c, "second": Reading.of(process_c + gap_k, 0.0)}


def test_20_k_apart_trips_within_35_s_either_way(make, let_watch):
    for gap_k in (20.0, -20.0):
        trip = let_watch(make(TwoSensors), 60, second(gap_k))
        assert trip.at_s <= 35.0
        assert trip.repeat_step == "reference check"


def test_a_step_of_one_sensor_at_800_widens_no_band(make, let_watch):
    low = lambda s: {  # noqa: E731
        "process_c": 800.0 - (20.0 if s >= 100 else 0.0),
        "second": Reading.of(800.0, s),
    }
    assert let_watch(make(TwoSensors), 300, low).at_s <= 135.0
    high = lambda s: {  # noqa: E731
        "process_c": 800.0,
        "second": Reading.of(800.0 + (20.0 if s >= 100 else 0.0), s),
    }
    assert let_watch(make(TwoSensors), 300, high).at_s <= 135.0


def test_inside_the_band_is_a_near_miss(make, let_watch):
    assert let_watch(make(TwoSensors), 600, second(7.9)) is None
    assert let_watch(make(TwoSensors), 600, second(12.0, 830.0)) is None  # 1.5 % of 830 is 12.45


def test_a_gap_of_twenty_seconds_is_a_near_miss(make, let_watch):
    assert let_watch(make(TwoSensors), 600, lambda s: second(20.0 if s % 60 < 20 else 0.0)) is None


def test_a_lag_in_a_fast_ramp_is_no_disagreement(make, let_watch):
    # 600 degC/h, the second sensor a minute behind: 10 K
    ramp = lambda s: second(-10.0 if s > 60 else -s / 6, 100.0 + s / 6)  # noqa: E731
    assert let_watch(make(TwoSensors), 1200, ramp) is None


def test_a_lost_second_sensor_is_told(make, let_watch):
    lost = {"second": Reading.bad(Quality.OPEN, "", 0.0)}
    assert isinstance(let_watch(make(TwoSensors), 60, lost), Alarm)


def test_without_a_second_sensor_it_says_what_is_not_seen(make, bare):
    assert "drift" in make(TwoSensors, bare).distance().note


@pytest.mark.parametrize("slower", [0, 1])
def test_the_band_widens_by_the_lesser_of_two_slopes(make, let_watch, slower):
    rates = (0.05, 0.1) if slower == 0 else (0.1, 0.05)

    def ramp(s):
        return {"process_c": 100.0 + rates[0] * s, "second": Reading.of(100.0 + rates[1] * s, s)}

    interlock = make(TwoSensors)
    assert let_watch(interlock, 120, ramp) is None
    # a low pass of 60 s, one step a second: each tick it trails by 59/60 of what it did, and of the new slope
    trails_s = 59.0 * (1.0 - (59.0 / 60.0) ** 120)
    assert interlock.distance().limit == pytest.approx(8.0 + 0.05 * trails_s)


@pytest.mark.parametrize(("gap_k", "trips"), [(59.0, False), (61.0, True), (-59.0, False), (-61.0, True)])
def test_a_sensor_at_another_place_has_the_band_of_that_place(oven, make, let_watch, gap_k, trips):
    verdict = let_watch(make(TwoSensors, on=elsewhere(oven)), 60, second(gap_k))
    assert (verdict is not None) is trips


@pytest.mark.parametrize(("second_c", "trips"), [(860.0, False), (1099.0, False), (1100.0, True)])
def test_for_a_sensor_at_another_place_the_machine_s_limit_counts_and_not_the_plan_s(
    oven, make, let_watch, second_c, trips
):
    """The plan goes to 830 degC and trips at 845; the machine's limit is 1100."""
    seen = {"process_c": 829.0, "second": Reading.of(second_c, 0.0)}
    assert let_watch(make(OverTemperature), 60, seen) is not None
    verdict = let_watch(make(OverTemperature, on=elsewhere(oven)), 60, seen)
    assert (verdict is not None) is trips


def elsewhere(oven):
    apart = oven.signal.second.model_copy(update={"apart_k": 60.0})
    return oven.model_copy(update={"signal": oven.signal.model_copy(update={"second": apart})})


@pytest.mark.parametrize(
    ("gap_k", "learned", "trips"),
    [
        (-30.0, False, False),
        (-30.0, True, True),
        (20.0, True, False),
        (55.0, True, False),
        (61.0, True, True),
    ],
)
def test_at_another_place_the_band_is_what_the_learning_heat_showed_and_a_third_more(
    make, let_watch, oven, gap_k, learned, trips
):
    """Seen: 3 K below to 51 K above, so a third of 54 K more each way; the file's 60 K still bound it."""
    limits = Thresholds.of(oven, replace(nameplate(oven), learned=True, second_gap_k=(-3.0, 51.0)))
    on = {"model": limits.model, "learned": learned}
    verdict = let_watch(make(TwoSensors, on=elsewhere(oven), **on), 60, second(gap_k))
    assert (verdict is not None) is trips
    beside = let_watch(make(TwoSensors, **on), 60, second(20.0))
    assert beside is not None  # one that sits beside the first keeps its own band
