import math
import random

import pytest

from kilnctl.interlocks.sensor_moves import SensorMoves, SensorNoise


def test_a_sensor_that_falls_out_trips_within_15_s(make, let_watch):
    # 830 degC, displaced: towards 60 with a lag of 30 s (HAZARDS H05)
    falling = lambda s: {"process_c": 60.0 + 770.0 * math.exp(-max(0.0, s - 100.0) / 30.0)}  # noqa: E731
    trip = let_watch(make(SensorMoves), 200, falling)
    assert 100.0 < trip.at_s <= 115.0


def test_the_door_opened_at_830_trips_in_ten_seconds(make, let_watch):
    falling = lambda s: {"process_c": 830.0 - 3.0 * max(0.0, s - 100.0)}  # noqa: E731
    assert let_watch(make(SensorMoves), 200, falling).at_s <= 111.0


def test_a_step_of_50_k_trips_at_once(make, let_watch):
    assert let_watch(make(SensorMoves), 20, lambda s: {"process_c": 500.0 if s < 10 else 551.0}).at_s == 10.0
    assert let_watch(make(SensorMoves), 20, lambda s: {"process_c": 500.0 if s < 10 else 512.0}) is None


def test_the_fastest_honest_moves_are_near_misses(make, let_watch, limits):
    shut = lambda s: {"process_c": 830.0 - 0.95 * limits.fall_k_per_s * s}  # noqa: E731
    assert let_watch(make(SensorMoves), 200, shut) is None
    full = lambda s: {"process_c": 20.0 + 0.95 * limits.rise_k_per_s * s}  # noqa: E731
    assert let_watch(make(SensorMoves), 300, full) is None


def test_rising_faster_than_any_oven_trips(make, let_watch, limits):
    scaled = lambda s: {"process_c": 20.0 + 1.1 * limits.rise_k_per_s * s}  # noqa: E731
    assert let_watch(make(SensorMoves), 60, scaled) is not None


def test_an_open_door_that_is_known_and_the_two_minutes_after_are_not_judged(make, let_watch):
    interlock = make(SensorMoves)
    assert let_watch(interlock, 30, lambda s: {"process_c": 830.0 - 5.0 * s, "door_open": True}) is None
    assert let_watch(interlock, 100, lambda s: {"process_c": 680.0 - 3.0 * (s - 31.0)}, 31.0) is None
    assert let_watch(interlock, 60, lambda s: {"process_c": 680.0 - 3.0 * (s - 31.0)}, 132.0) is not None


def test_a_step_in_an_operator_step_trips_and_what_a_door_does_there_does_not(make, let_watch):
    step = lambda s: {"process_c": 800.0 if s < 10 else 26.0, "segment_kind": "operator"}  # noqa: E731
    assert let_watch(make(SensorMoves), 20, step).at_s == 10.0
    door = lambda s: {"process_c": 800.0 - 20.0 * s, "segment_kind": "operator"}  # noqa: E731
    assert let_watch(make(SensorMoves), 30, door) is None
    known = lambda s: {"process_c": 800.0 - 20.0 * s, "segment_kind": "operator", "door_open": True}  # noqa: E731
    assert let_watch(make(SensorMoves), 30, known) is None
    shut = lambda s: {"process_c": 800.0 - 20.0 * s, "segment_kind": "operator", "door_open": False}  # noqa: E731
    assert let_watch(make(SensorMoves), 30, shut) is not None


def test_colder_than_the_room_at_one_stroke_is_no_oven(make, let_watch):
    """A tenth of 20.4 degC, in an operator step (campaign, seed 288183: truly 262 degC behind it)."""
    tenth = lambda s: {"process_c": 20.4 if s < 10 else 2.0, "segment_kind": "operator"}  # noqa: E731
    assert let_watch(make(SensorMoves), 20, tenth).at_s == 10.0
    half = lambda s: {"process_c": 21.0 if s < 10 else 10.5, "door_open": True}  # noqa: E731
    assert let_watch(make(SensorMoves), 20, half).at_s == 10.0


def test_a_cold_part_a_cold_room_and_a_door_are_near_misses(make, let_watch):
    """Steel from dry ice in a small oven, air of -20 degC over a bare couple (5 s); a shop in winter."""
    part = lambda s: {"process_c": -20.0 + 40.0 * math.exp(-s / 5.0), "segment_kind": "operator"}  # noqa: E731
    assert let_watch(make(SensorMoves), 60, part) is None
    winter = lambda s: {"process_c": 3.0 + 60.0 * math.exp(-s / 5.0), "segment_kind": "operator"}  # noqa: E731
    assert let_watch(make(SensorMoves), 60, winter) is None
    spike = lambda s: {"process_c": 3.0 if s < 10 else 13.0 if s < 12 else 3.0}  # noqa: E731
    assert let_watch(make(SensorMoves), 20, spike) is None


@pytest.mark.parametrize("tick_s", [0.5, 1.0, 2.0, 2.5])
def test_what_dry_ice_takes_from_a_bare_couple_is_no_step_at_any_tick(make, seen, tick_s):
    """Air of -20 degC over a couple of 5 s lag takes 13.2 K in two seconds: 40 K (1 - e^-0.4)."""
    for begins_s in (0.0, 0.3 * tick_s, 0.7 * tick_s):
        moves = make(SensorMoves)
        for tick in range(60):
            since_s = max(tick * tick_s - begins_s, 0.0)
            look = seen(
                tick * tick_s, dt_s=tick_s, process_c=-20.0 + 40.0 * math.exp(-since_s / 5.0), door_open=True
            )
            assert moves.check(look) is None


def test_a_tenth_of_the_room_is_a_step_at_a_tick_of_two_seconds_too(make, seen):
    moves = make(SensorMoves)
    verdicts = [moves.check(seen(2.0 * n, dt_s=2.0, process_c=20.4 if n < 5 else 2.0)) for n in range(10)]
    assert next(v.at_s for v in verdicts if v is not None) == 10.0


def unheated(course_c):
    return lambda s: {"process_c": course_c(s), "duty_asked": 1.0 if s < 20 else 0.0, "door_open": None}


def test_a_cold_oven_that_warms_without_heat_has_its_sensor_elsewhere(make, let_watch):
    """From 45 degC in an oven that coasts by 0.1 K/s towards 60 degC outside, with a lag of 12 s (H05)."""

    def out(s):
        return 30.0 + 0.1 * s + (15.0 * (1.0 - math.exp((150.0 - s) / 12.0)) if s > 150.0 else 0.0)

    trip = let_watch(make(SensorMoves), 400, unheated(out))
    assert 150.0 < trip.at_s <= 165.0
    assert "without heat" in trip.reason


def muffle(s):
    return 20.0 + 60.0 * (1.0 - math.exp(-((s / 120.0) ** 2)))


def looked_in(s):
    return 80.0 - 20.0 * min(max(s - 188.0, 0.0) / 12.0, math.exp(min(0.0, (200.0 - s) / 8.0)))


def test_what_a_sound_oven_does_without_heat_is_no_such_rise(make, let_watch):
    """A coast that grows behind a muffle, air that comes back after a look in, noise, a heated one."""
    draw = random.Random(3)
    for course_c in (muffle, looked_in, lambda s: 60.0 + 5e-3 * s + draw.gauss(0.0, 1.2)):
        assert let_watch(make(SensorMoves), 3600, unheated(course_c)) is None
    heated = lambda s: {"process_c": 45.0 + max(0.0, min(0.9 * (s - 100.0), 20.0)), "duty_asked": 0.3}  # noqa: E731
    assert let_watch(make(SensorMoves), 400, heated) is None


def test_a_recording_says_nothing_of_who_heats(make, let_watch):
    """A couple that is put into a kitchen oven of 200 degC, with a lag of 60 s, while it is only recorded."""

    def put_in(s):
        process_c = 200.0 - 180.0 * math.exp(min(0.0, 100.0 - s) / 60.0)
        return {"process_c": process_c, "duty_asked": 0.0, "run_max_c": None, "door_open": None}

    assert let_watch(make(SensorMoves), 400, put_in) is None


def test_ten_seconds_are_ten_seconds_at_every_tick(make, oven, seen):
    """Behind a muffle a coast of 100 K quickens over a minute, and not threefold in ten seconds."""
    slow = make(SensorMoves, oven.model_copy(update={"tick_s": 5.0}))
    for s in range(0, 600, 5):
        process_c = 20.0 + 100.0 * (1.0 - math.exp(-((s / 120.0) ** 2)))
        look = seen(float(s), process_c=process_c, duty_asked=float(s < 20), dt_s=5.0, door_open=None)
        assert slow.check(look) is None, s


def noisy(sigma_k, seed):
    draw = random.Random(seed)
    return lambda s: {"process_c": 500.0 + draw.gauss(0.0, sigma_k)}


def test_noise_of_8_k_stops_within_a_minute(make, let_watch):
    times = [let_watch(make(SensorNoise), 120, noisy(8.0, seed)).at_s for seed in range(20)]
    assert max(times) <= 60.0


def test_noise_of_half_a_kelvin_and_a_lonely_spike_do_not(make, let_watch):
    assert all(let_watch(make(SensorNoise), 3600, noisy(0.5, seed)) is None for seed in range(5))
    spike = lambda s: {"process_c": 550.0 if s == 100.0 else 500.0}  # noqa: E731
    assert let_watch(make(SensorNoise), 300, spike) is None


def test_a_fast_ramp_is_no_noise(make, let_watch):
    assert let_watch(make(SensorNoise), 600, lambda s: {"process_c": 20.0 + 1.3 * s}) is None


def test_spikes_every_ten_seconds_stop(make, let_watch):
    spikes = lambda s: {"process_c": 550.0 if s % 10 == 5 else 500.0}  # noqa: E731
    assert let_watch(make(SensorNoise), 120, spikes).at_s <= 60.0


def seen_by_a_coil(falls: float, off_from_s: float = 110.0, rises: float = 3.0):
    """Return the course of a sensor in sight of its elements: up by so much a second, then down."""

    def at(s: float) -> dict[str, object]:
        up_c = 20.0 + rises * min(max(0.0, s - 10.0), 100.0)
        return {"process_c": up_c - falls * max(0.0, s - 110.0), "duty_asked": float(s < off_from_s)}

    return at


def test_an_oven_that_is_not_learned_may_fall_after_a_cut_as_fast_as_it_rose(make, let_watch):
    """Open coil 92 rises by 3.0 K/s and falls by 2.6; its nameplate says 2.5."""
    interlock = make(SensorMoves, fall_k_per_s=2.5, rise_k_per_s=5.0)
    assert let_watch(interlock, 150, seen_by_a_coil(3.6)) is None
    faster = make(SensorMoves, fall_k_per_s=2.5, rise_k_per_s=5.0)
    assert let_watch(faster, 150, seen_by_a_coil(4.0)) is not None


def test_it_may_not_so_under_heat_nor_where_it_is_learned(make, let_watch):
    heated = make(SensorMoves, fall_k_per_s=2.5, rise_k_per_s=5.0)
    assert let_watch(heated, 150, seen_by_a_coil(2.8, off_from_s=1e9)) is not None
    learned = make(SensorMoves, fall_k_per_s=2.5, rise_k_per_s=5.0, learned=True)
    assert let_watch(learned, 150, seen_by_a_coil(2.8)) is not None
    slow = make(SensorMoves, fall_k_per_s=2.5, rise_k_per_s=5.0)
    assert let_watch(slow, 150, seen_by_a_coil(2.8, rises=1.0)) is not None


def test_a_relays_own_pulses_in_a_hold_are_no_cut(make, let_watch):
    """Off for 21 s of every 30 an oven's sensor was free to slip out."""
    interlock = make(SensorMoves, fall_k_per_s=2.5, rise_k_per_s=5.0)

    def slips(s):
        duty = 1.0 if s < 110 or s % 30 < 9 else 0.0
        return {"process_c": min(20.0 + 4.0 * s, 460.0) - 3.6 * max(0.0, s - 400.0), "duty_asked": duty}

    assert let_watch(interlock, 600, slips).at_s < 420.0
