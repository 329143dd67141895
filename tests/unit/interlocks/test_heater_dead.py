import pytest

from kilnctl.interlocks.heater_dead import HeaterDead, NoProgress, OutputDisobeys
from kilnctl.readings import Reaction, Reading

# What a live reading of 0.1 K steps moves by while it stands.
DITHER_K = 0.1


def test_an_output_that_reads_off_under_demand_stops(make, let_watch):
    trip = let_watch(make(OutputDisobeys), 10, {"heat_on": False})
    assert (trip.at_s, trip.reaction) == (2.0, Reaction.STOP)
    assert let_watch(make(OutputDisobeys), 10, lambda s: {"heat_on": s % 3 != 0}) is None
    assert let_watch(make(OutputDisobeys), 10, {"heat_on": None}) is None


def test_a_dead_element_stops_after_five_seconds_of_asked_heat(make, let_watch):
    one_in_five = lambda s: {"heater_live": False, "heat_asked": s % 5 == 0, "heat_on": s % 5 == 0}  # noqa: E731
    assert let_watch(make(HeaterDead), 60, one_in_five).at_s == 20.0


def test_who_was_told_to_switch_off_at_the_isolator_is_not_stopped_for_it(make, let_watch):
    """A hold for hands without a door switch, isolator off for a minute as the plan says; then it counts."""
    hands = {"heater_live": False, "segment_kind": "operator", "door_open": None}
    assert let_watch(make(HeaterDead), 60, hands) is None
    assert let_watch(make(HeaterDead), 60, hands | {"door_open": False}) is not None
    assert let_watch(make(HeaterDead), 60, hands | {"segment_kind": "soak"}) is not None


def test_an_element_that_lags_a_second_is_a_near_miss(make, let_watch):
    lagging = lambda s: {"heater_live": s % 4 != 0}  # noqa: E731
    assert let_watch(make(HeaterDead), 200, lagging) is None


def test_a_current_sensor_counts_as_a_sign_of_life(make, let_watch):
    assert let_watch(make(HeaterDead), 60, {"current_a": Reading.of(9.8, 0.0)}) is None
    assert let_watch(make(HeaterDead), 60, {"current_a": Reading.of(0.02, 0.0)}) is not None


def test_ten_minutes_of_full_heat_without_progress_stop(make, let_watch):
    stuck = {"process_c": 770.0, "setpoint_c": 830.0}
    assert 600.0 <= let_watch(make(NoProgress), 1000, stuck).at_s <= 800.0


def test_an_oven_that_a_cold_part_made_colder_and_that_has_turned_gets_as_long_again(make, let_watch):
    """Seed 128309, sound: 25 kg in a furnace with a weak supply. What does not turn stops in time."""

    def after(turns_at_s, k_per_s):
        def reads(s):
            fallen_c = 770.0 - min(s, turns_at_s) / 40.0
            return {"process_c": fallen_c + k_per_s * max(s - turns_at_s, 0.0), "setpoint_c": 830.0}

        return reads

    assert let_watch(make(NoProgress), 3600, after(400.0, 0.012)) is None
    stuck = let_watch(make(NoProgress), 3600, after(400.0, 0.0))
    assert 600.0 <= stuck.at_s <= 800.0

    def turned_once(s):
        gains = after(400.0, 0.012)(s)
        return gains | {"process_c": min(gains["process_c"], 762.0)}

    assert let_watch(make(NoProgress), 3600, turned_once).at_s <= 1500.0


def test_a_bath_that_melts_stands_at_once_and_gets_twice_as_long(make, let_watch):
    """Salt pot 92, not learned: 5 K a minute, then nothing at 149 degC for as long as its salt melts."""

    def melts(for_s, falls_k=0.0, k_per_s=0.08):
        def reads(s):
            till_s = 20.0 / k_per_s
            stands_c = 149.0 - falls_k * min(max(s - till_s, 0.0) / 60.0, 1.0)
            c = 129.0 + k_per_s * s if s < till_s else stands_c + 0.08 * max(s - till_s - for_s, 0.0)
            return {"process_c": c + DITHER_K * (s // 5 % 2), "setpoint_c": 218.0}

        return reads

    assert let_watch(make(NoProgress), 2000, melts(1000.0)) is None
    assert let_watch(make(NoProgress), 2000, melts(1e6)).at_s <= 1460.0
    # An element that died lets the reading fall, half of one let it rise slowly before.
    assert let_watch(make(NoProgress), 2000, melts(1000.0, falls_k=0.7)).at_s <= 860.0
    assert let_watch(make(NoProgress), 2000, melts(1000.0, k_per_s=0.025)).at_s <= 1420.0


@pytest.mark.parametrize(
    ("at_c", "dither_k"), [(149.0, 0.0), (700.0, 0.0), (700.0, DITHER_K), (30.0, DITHER_K)]
)
def test_a_reading_that_hangs_under_full_heat_gets_no_longer(at_c, dither_k, make, let_watch):
    """A module of whole degrees that hangs stands at once too; so does a couple shorted in the cold."""

    def hangs(s):
        return {"process_c": min(at_c - 50.0 + 0.2 * s, at_c) + dither_k * (s // 5 % 2), "setpoint_c": 870.0}

    assert let_watch(make(NoProgress), 2000, hangs).at_s <= 250.0 + 620.0


def test_a_slow_rise_and_a_reached_goal_are_near_misses(make, let_watch):
    assert (
        let_watch(make(NoProgress), 3600, lambda s: {"process_c": 700.0 + s / 250, "setpoint_c": 830.0})
        is None
    )
    assert let_watch(make(NoProgress), 3600, {"process_c": 827.0, "setpoint_c": 830.0}) is None
    part = {"process_c": 770.0, "setpoint_c": 830.0, "duty_asked": 0.9}
    assert let_watch(make(NoProgress), 3600, part) is None


def test_a_board_that_makes_the_duty_itself_is_off_for_most_of_its_window(make, let_watch, by_duty, oven):
    for window_s in (10.0, 60.0):
        for duty in (0.05, 0.3, 0.6, 1.0):
            ticking = lambda s, w=window_s, d=duty: {"heater_live": s % w < d * w, "duty_asked": d}  # noqa: E731
            assert let_watch(make(HeaterDead, by_duty(oven)), 900, ticking) is None
    dead = {"heater_live": False, "duty_asked": 0.5}
    assert let_watch(make(HeaterDead, by_duty(oven)), 900, dead).at_s == 39.0


def test_an_oven_without_a_contact_at_its_element_says_what_is_not_seen(make, bare, let_watch):
    signals = bare.signal.model_copy(update={"heater_live": None, "current_a": None})
    blind = make(HeaterDead, bare.model_copy(update={"signal": signals}))
    assert let_watch(blind, 900, {"heater_live": None}) is None
    assert blind.distance().value is None
    assert "no contact or current sensor" in blind.distance().note
