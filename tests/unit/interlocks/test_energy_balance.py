import pytest

from kilnctl.interlocks.energy_balance import FIRST_S, EnergyBalance
from kilnctl.readings import Reaction, ResetClass


def test_too_much_heat_for_20_s_trips_and_needs_a_repair(make, let_watch):
    trip = let_watch(make(EnergyBalance), 60, {"unexplained": 0.36, "duty_asked": 0.3})
    assert trip.at_s == 19.0
    assert trip.reset is ResetClass.C


def test_too_little_is_a_stop_where_the_element_is_known_dead_and_a_trip_where_not(make, let_watch):
    dead = {"unexplained": -0.5, "heater_live": False}
    assert let_watch(make(EnergyBalance), 60, dead).reaction is Reaction.STOP
    alive = {"unexplained": -0.5, "heater_live": True}
    assert let_watch(make(EnergyBalance), 60, alive).reaction is Reaction.TRIP


@pytest.mark.parametrize("value", [0.34, -0.34])
def test_below_the_limit_is_a_near_miss(make, let_watch, value):
    interlock = make(EnergyBalance)
    assert let_watch(interlock, 3600, {"unexplained": value, "duty_asked": 0.3}) is None
    assert 0.9 < interlock.distance().near < 1.0


def test_at_full_heat_a_wrong_supply_and_model_are_a_near_miss_and_half_an_element_is_not(make, let_watch):
    # 1.21 / 0.8 - 1 = 0.51 too much, 1 - 0.81 / 1.2 = 0.33 too little: see the module.
    full = lambda s: {"unexplained": min(s / 600.0, 1.0) * 0.6}  # noqa: E731
    assert let_watch(make(EnergyBalance), 3600, full) is None
    less = lambda s: {"unexplained": -min(s / 600.0, 1.0) * 0.44}  # noqa: E731
    assert let_watch(make(EnergyBalance), 3600, less) is None
    half = lambda s: {"unexplained": -min(s / 600.0, 1.0) * 0.5}  # noqa: E731
    assert let_watch(make(EnergyBalance), 3600, half) is not None


def test_after_full_heat_a_relay_that_sticks_is_still_found_in_a_minute(make, let_watch):
    interlock = make(EnergyBalance)
    assert let_watch(interlock, 1200, {"unexplained": 0.1}) is None
    assert let_watch(interlock, 60, {"unexplained": 0.8, "duty_asked": 0.2}, 1201.0) is not None


def test_a_coast_that_ends_early_is_a_near_miss_and_a_sensor_that_falls_out_is_not(make, let_watch):
    coast = lambda s: {  # noqa: E731
        "duty_asked": 1.0 if s < 600 else 0.0,
        "unexplained": -0.47 if 640 < s < 700 else 0.0,
    }
    assert let_watch(make(EnergyBalance), 1200, coast) is None
    out = lambda s: {  # noqa: E731
        "duty_asked": 1.0 if s < 600 else 0.0,
        "unexplained": -1.2 if s > 640 else 0.0,
    }
    assert let_watch(make(EnergyBalance), 1200, out).at_s <= 662.0


def test_nineteen_seconds_or_a_changing_sign_are_a_near_miss(make, let_watch):
    burst = lambda s: {"unexplained": 0.6 if s % 60 < 19 else 0.0}  # noqa: E731
    assert let_watch(make(EnergyBalance), 600, burst) is None
    swinging = lambda s: {"unexplained": 0.6 if s % 30 < 15 else -0.6}  # noqa: E731
    assert let_watch(make(EnergyBalance), 600, swinging) is None


def test_an_oven_not_learned_is_not_judged_and_that_is_said(make, let_watch):
    interlock = make(EnergyBalance)
    assert let_watch(interlock, 60, {"unexplained": None}) is None
    assert "blind" in interlock.distance().note


@pytest.mark.parametrize(
    ("sign", "of_heat", "coast_s", "falls_s"),
    [(1.0, 0.75, 100.0, 120.0), (1.0, 0.75, 600.0, 600.0), (-1.0, 0.45, 180.0, 300.0)],
)
def test_the_limit_follows_the_heat_lately_asked(make, let_watch, sign, of_heat, coast_s, falls_s):
    """An oven that coasts for long is late with its answer to heat that is over."""
    interlock = make(EnergyBalance, excess_of_heat=0.75, missing_of_heat=0.45, coast_s=coast_s)
    small = {"unexplained": sign * 0.01}

    def limit_after(seconds, duty):
        let_watch(interlock, seconds - 1, small | {"duty_asked": duty})
        return interlock.distance().limit

    limit_after(int(FIRST_S) + 1, 0.0)
    rising = 1.0 - (1.0 - 1.0 / 30.0) ** 100
    assert limit_after(100, 1.0) == pytest.approx(of_heat * rising)
    falling = 0.9 + (rising - 0.9) * (1.0 - 1.0 / falls_s) ** 20
    assert limit_after(20, 0.9) == pytest.approx(of_heat * falling)


def test_in_a_coast_the_heat_that_the_model_still_expects_is_borne(make, let_watch):
    interlock = make(EnergyBalance, missing_of_heat=0.45)
    small = {"unexplained": -0.01}
    let_watch(interlock, 999, small | {"duty_asked": 1.0})
    let_watch(interlock, 59, small | {"duty_asked": 0.0})
    now, missing = (1.0 - 1.0 / 30.0) ** 60, (1.0 - 1.0 / 300.0) ** 60
    assert interlock.distance().limit == pytest.approx(0.9 * (missing - now))


def first_minutes(make, let_watch, missing):
    """Return the trip of a heat that asks for all from its first second and lacks `missing(second)`."""
    seen = lambda s: {"duty_asked": 1.0, "unexplained": None if s < 120 else -missing(s)}  # noqa: E731
    return let_watch(make(EnergyBalance), 900, seen)


def test_a_sensor_twice_as_slow_is_a_near_miss_in_the_first_minutes(make, let_watch):
    """As measured on four fibre ovens: 0.48 at worst, 0.33 after 179 s, little after 240 s."""
    assert first_minutes(make, let_watch, lambda s: 0.5 if s < 200 else 0.1) is None


@pytest.mark.parametrize(("missing", "by_s"), [(0.5, FIRST_S + 20.0), (1.0, 141.0)], ids=["half", "all"])
def test_half_an_element_is_found_after_them_and_a_dead_one_in_them(make, let_watch, missing, by_s):
    assert first_minutes(make, let_watch, lambda s: missing).at_s <= by_s


def test_the_first_minutes_count_from_the_first_heat(make, let_watch):
    interlock = make(EnergyBalance)
    idle = {"unexplained": 0.0, "duty_asked": 0.0, "heat_asked": False}
    assert let_watch(interlock, 3600, idle) is None
    slow = lambda s: {"duty_asked": 1.0, "unexplained": -0.5 if 120 < s < 200 else 0.0}  # noqa: E731
    assert let_watch(interlock, 900, slow) is None


def test_half_an_element_dies_in_an_oven_that_has_more_than_its_model_knows(make, let_watch):
    """62029 of the campaign: 16 % more came than the model knows, then 33 % of full power was missing."""
    dies = lambda s: {"unexplained": 0.16 if s < 1200 else -0.33}  # noqa: E731
    assert let_watch(make(EnergyBalance), 3600, dies).at_s < 1200 + 60
    pulses = lambda s: {  # noqa: E731  (72010 of the sound heats: a heat-up in pulses swings so)
        "unexplained": 0.3 if s % 140 < 50 else -0.33,
        "duty_asked": 1.0 if s % 140 > 60 else 0.0,
    }
    assert let_watch(make(EnergyBalance), 1200, pulses) is None
    long_ago = lambda s: {"unexplained": 0.16 if s < 600 else 0.0 if s < 9600 else -0.33}  # noqa: E731
    assert let_watch(make(EnergyBalance), 10800, long_ago) is None
