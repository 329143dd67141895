import math
import random

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
