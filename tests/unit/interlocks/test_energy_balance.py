import math
from dataclasses import replace

import numpy as np
import pytest

from kilnctl.interlocks.energy_balance import FIRST_S, EnergyBalance
from kilnctl.model.oven_model import Coasted
from kilnctl.readings import Reaction, Reading, ResetClass


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
    less = lambda s: {"unexplained": -min(s / 600.0, 1.0) * 0.39}  # noqa: E731
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


@pytest.mark.parametrize(("remembered_s", "falls_s"), [(100.0, 120.0), (600.0, 600.0)])
def test_the_limit_follows_the_heat_lately_asked(make, let_watch, remembered_s, falls_s):
    """An oven that coasts for long is late with its answer to heat that is over."""
    interlock = make(EnergyBalance, excess_of_heat=0.75, remembered_s=remembered_s)
    small = {"unexplained": 0.01}

    def limit_after(seconds, duty):
        let_watch(interlock, seconds - 1, small | {"duty_asked": duty})
        return interlock.distance().limit

    limit_after(int(FIRST_S) + 1, 0.0)
    rising = 1.0 - (1.0 - 1.0 / 30.0) ** 100
    assert limit_after(100, 1.0) == pytest.approx(0.75 * rising)
    falling = 0.9 + (rising - 0.9) * (1.0 - 1.0 / falls_s) ** 20
    assert limit_after(20, 0.9) == pytest.approx(0.75 * falling)


def test_what_may_be_missing_is_a_share_of_the_pulses_mean(make, let_watch):
    """Full heat: 0.45. A relay that is on for seven seconds of ten: 0.45 of 0.7 is less than 0.35."""
    for on_s, limit in ((10, 0.45), (7, 0.35)):
        interlock = make(EnergyBalance, missing_of_heat=0.45)
        pulses = lambda s, n=on_s: {"duty_asked": float(s % 10 < n), "unexplained": -0.01}  # noqa: E731
        assert let_watch(interlock, 600, pulses) is None
        assert interlock.distance().limit == pytest.approx(limit, abs=0.01)


def test_a_long_pulse_that_begins_may_leave_missing_a_share_of_itself(make, let_watch):
    # A heat that rises in steps: what the sensor has not shown yet is 0.42, 0.45 is allowed. Seen to trip.
    begins = lambda s: {  # noqa: E731
        "duty_asked": 1.0 if s % 210 >= 120 else 0.0,
        "unexplained": -0.42 if s > FIRST_S and s % 210 >= 185 else 0.0,
    }
    assert let_watch(make(EnergyBalance), 1200, begins) is None


def test_in_a_coast_the_heat_that_the_model_still_expects_is_borne(make, let_watch):
    interlock = make(EnergyBalance, missing_of_heat=0.45)
    small = {"unexplained": -0.01}
    let_watch(interlock, 999, small | {"duty_asked": 1.0})
    let_watch(interlock, 59, small | {"duty_asked": 0.0})
    now = missing = 1.0
    for _ in range(60):
        now *= 1.0 - 1.0 / 30.0
        missing += (now - missing) / 300.0
    assert interlock.distance().limit == pytest.approx(0.9 * (missing - now), rel=1e-4)


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


@pytest.mark.parametrize(
    ("too_much", "found"), [(0.38, False), (0.9, True)], ids=["late answer", "stuck relay"]
)
def test_the_answer_to_a_first_short_pulse_comes_late_and_a_relay_that_sticks_after_it_is_found(
    make, let_watch, too_much, found
):
    """As measured on a sound small oven (seed 210014): 24 s of full heat, then up to 0.38 after 50 s."""
    seen = lambda s: {  # noqa: E731
        "duty_asked": 1.0 if s < 24 else 0.0,
        "heat_asked": s < 24,
        "unexplained": too_much * min(max(s - 24.0, 0.0) / 40.0, 1.0) if s < 110 else 0.0,
    }
    trip = let_watch(make(EnergyBalance), 200, seen)
    assert (trip is not None) is found
    assert trip is None or trip.at_s <= 80.0


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


def test_half_an_element_that_dies_in_a_hold_is_seen_while_the_duty_climbs(make, let_watch):
    """297933 of the campaign: 8 % more came in the hold; then 0.27 to 0.36 were missing as the duty rose."""

    def dies(s, volts=None):
        since_s = max(s - 1800.0, 0.0)
        missing = -0.08 + 0.44 * (1.0 - math.exp(-since_s / 60.0)) if since_s else -0.08
        return {
            "unexplained": -missing,
            "duty_asked": min(0.6 + since_s / 600.0, 1.0),
            "supply_v": volts,
        }

    assert 1800.0 < let_watch(make(EnergyBalance), 3600, dies).at_s < 1800.0 + 200.0
    late = lambda s: dies(s) | {"unexplained": 0.0 if s < 1800 else -0.33 * dies(s)["duty_asked"]}  # noqa: E731
    assert let_watch(make(EnergyBalance), 3600, late) is None  # a tenth less supply, a fifth more to store


@pytest.mark.parametrize(
    ("volts", "missing", "trips"), [(230.0, 0.34, True), (253.0, 0.31, True), (207.0, 0.33, False)]
)
def test_with_measured_volts_half_an_element_need_not_have_been_seen_whole(
    make, let_watch, volts, missing, trips
):
    """310893 of the campaign: a third missing from the start, for two hours. So does a sound one at 90 %."""
    weak = {"unexplained": -missing, "supply_v": Reading.of(volts, 0.0)}
    trip = let_watch(make(EnergyBalance), 3600, weak)
    assert trip.at_s < 240.0 + 70.0 if trips else trip is None
    assert let_watch(make(EnergyBalance), 3600, weak | {"supply_v": None}) is None


def heat_of(came, duty=0.36, more=0.0, half_s=900):
    """Return a hold: `came` of what is asked comes until `half_s`, then half, and more and more is asked.

    The estimate follows within two minutes; `more` is what the model's losses have too much.
    """

    def seen(s):
        since_s = max(s - half_s, 0.0)
        asked = min(duty * (1.0 + since_s / 600.0), 1.0)
        comes = came - came / 2.0 * min(since_s / 120.0, 1.0)
        return {"duty_asked": asked, "unexplained": asked * (comes - 1.0) + more}

    return seen


@pytest.mark.parametrize(("came", "more"), [(1.0, 0.0), (1.2, -0.05), (0.85, 0.05)])
def test_half_an_element_in_a_hold_is_seen_by_the_share_that_comes(make, let_watch, came, more):
    trip = let_watch(make(EnergyBalance), 1300, heat_of(came, more=more))
    assert 900 < trip.at_s < 900 + 268


@pytest.mark.parametrize(("came", "more"), [(1.0, 0.0), (1.1, -0.05), (0.95, 0.05)])
def test_a_supply_of_85_percent_is_a_near_miss_of_it(make, let_watch, came, more):
    sags = lambda s: {  # noqa: E731
        "duty_asked": 0.36,
        "unexplained": 0.36 * (came * (1.0 if s < 900 else max(0.7225, 1.0 - (s - 900) / 400.0)) - 1.0)
        + more,
    }
    assert let_watch(make(EnergyBalance), 1300, sags) is None


def test_an_oven_that_gets_colder_under_full_heat_lacks_it(make, let_watch):
    """86523 of the campaign: 39 % missing; one of 0.9 of its supply that gets warmer all the same goes on."""
    for k_per_s, trips in ((-0.04, True), (0.01, False)):
        course = lambda s, k=k_per_s: {  # noqa: E731
            "process_c": 730.0 + k * s,
            "unexplained": -0.39 if s > 130 else 0.0,
        }
        trip = let_watch(make(EnergyBalance), 600, course)
        assert trip is None if not trips else trip.at_s < 300.0


def test_what_is_missing_for_a_minute_is_judged_more_strictly_than_what_comes_and_goes(make, let_watch):
    """Half an element of an oven with a good supply lacks 0.42 to 0.45; a sound one lacked 0.34 at worst."""
    lacks = {"unexplained": -0.42, "duty_asked": 1.0}
    sound = {"unexplained": 0.0, "duty_asked": 1.0}
    interlock = make(EnergyBalance)
    assert let_watch(interlock, FIRST_S, sound) is None
    trip = let_watch(interlock, 120, lacks, FIRST_S + 1.0)
    assert trip.at_s <= FIRST_S + 62.0
    in_pieces = lambda s: lacks if s % 60 < 55 else sound  # noqa: E731
    interlock = make(EnergyBalance)
    assert let_watch(interlock, FIRST_S, sound) is None
    assert let_watch(interlock, 600, in_pieces, FIRST_S + 1.0) is None


def test_an_oven_that_lacks_a_quarter_of_full_power_always_is_a_near_miss(make, let_watch):
    """A nameplate that stands for a learned model: 40 % of the heat asked, at half of full power."""
    lacks = {"unexplained": -0.27, "duty_asked": 0.55}
    interlock = make(EnergyBalance)
    assert let_watch(interlock, 3600, lacks) is None
    assert let_watch(interlock, 120, lacks | {"unexplained": -0.32}, 3601.0) is not None


def test_a_pulse_after_a_coast_that_ended_early_is_a_near_miss(make, let_watch):
    """Seed 114070, sound: what a short coast left missing still showed while full heat was asked again."""
    pulse = lambda s: {  # noqa: E731
        "duty_asked": 0.0 if 600 <= s < 640 else 1.0,
        "unexplained": -0.47 if 635 < s < 680 else -0.2,
    }
    assert let_watch(make(EnergyBalance), 900, pulse) is None


LATE = Coasted(143.0, 60.0), Coasted(316.0, 27.0)


def warm_corner(gone_s=10**9):
    """Return door's corner 104, warm: what the eye saw of it, sound, in its first seven minutes.

    A short heat, a coast that stood early, 36 s of full heat that the corner had not felt yet, and pulses.
    From `gone_s` on none of the heat that is asked comes.
    """

    def at(s):
        asked = s < 156.0 or 258.0 <= s < 294.0 or (s >= 294.0 and s % 10.0 < 3.0)
        seems = (0.0, 0.0, -0.12, -0.16, -0.26, -0.32, -0.38, -0.41, -0.40, -0.365, -0.32, -0.2, 0.0)
        at_s = (0.0, 240.0, 252.0, 264.0, 282.0, 294.0, 302.0, 312.0, 322.0, 332.0, 350.0, 380.0, 400.0)
        lacks = float(np.interp(s, at_s, seems))
        if s >= gone_s:
            asked, lacks = True, max(-1.0, lacks - (s - gone_s) / 60.0)
        reads_c = 165.0 + 0.25 * min(max(s - 60.0, 0.0), 170.0)
        claim = None if s < 120.0 else lacks
        return {"duty_asked": float(asked), "unexplained": claim, "process_c": reads_c, "setpoint_c": 218.0}

    return at


def late(make, limits, coasts=LATE):
    """Return the interlock of an oven whose own pauses have shown it to be late."""
    return make(EnergyBalance, model=replace(limits.model, coasts=coasts))


def test_heat_asked_after_a_coast_is_not_missing_before_a_late_reading_can_have_felt_it(
    make, let_watch, limits
):
    assert let_watch(late(make, limits), 900, warm_corner()) is None


@pytest.mark.parametrize("gone_s", [0.0, 170.0, 258.0, 500.0], ids=["never", "coast", "after it", "hold"])
def test_a_late_oven_whose_heat_does_not_come_is_found_within_the_hazard_lists_145_s(
    make, let_watch, limits, gone_s
):
    trip = let_watch(late(make, limits), 900, warm_corner(gone_s))
    assert trip is not None
    assert trip.at_s <= gone_s + 145.0


MUFFLED = (
    Coasted(47.5, 287.3),
    Coasted(92.4, 291.2),
    Coasted(160.5, 175.6),
    Coasted(185.3, 260.2),
)


def warm_muffle(half_s=10**9):
    """Return muffle 106, warm from 190 degC: what the eye saw of it, sound.

    Five minutes of full heat; a coast that stood 4 K short; a fifth of full power seemed to be missing while
    it was made good. From `half_s` on half of what is asked is missing besides.
    """

    def at(s):
        asked = 1.0 if 35.0 <= s < 340.0 else 0.0
        asked = (
            float(np.interp(s, (420.0, 540.0, 600.0, 640.0, 3000.0), (0.15, 0.25, 0.55, 0.35, 0.35)))
            if s > 410.0
            else asked
        )
        at_s = (0.0, 230.0, 300.0, 340.0, 400.0, 480.0, 540.0, 600.0, 700.0, 1000.0)
        claim = float(np.interp(s, at_s, (0.0, 0.03, 0.14, 0.21, 0.2, 0.02, -0.11, -0.22, -0.21, 0.0)))
        if s >= half_s:
            claim -= 0.5 * asked * min((s - half_s) / 60.0, 1.0)
        reads_c = float(np.interp(s, (0.0, 200.0, 340.0, 480.0, 640.0), (190.0, 192.0, 200.0, 210.0, 214.0)))
        seen_c = {"process_c": reads_c, "setpoint_c": 218.0}
        return seen_c | {"duty_asked": asked, "unexplained": None if s < 120.0 else claim}

    return at


def test_the_share_that_comes_counts_beyond_what_a_coast_that_stood_short_still_lacks(
    make, let_watch, limits
):
    assert let_watch(late(make, limits, MUFFLED), 2400, warm_muffle()) is None


@pytest.mark.parametrize(("half_s", "within_s"), [(700.0, 630.0), (1000.0, 320.0), (1500.0, 268.0)])
def test_half_an_element_of_a_late_oven_is_found_once_its_coast_explains_no_more(
    half_s, within_s, make, let_watch, limits
):
    trip = let_watch(late(make, limits, MUFFLED), 4000, warm_muffle(half_s))
    assert trip is not None
    assert half_s < trip.at_s <= half_s + within_s


def test_a_tick_without_time_teaches_nothing(make, let_watch, seen):
    interlock = make(EnergyBalance)
    assert let_watch(interlock, 900, {"unexplained": 0.0, "duty_asked": 0.1}) is None
    # The first tick whose share is judged, with no time since the last one.
    interlock._share._asked = interlock._share._lately = 0.5
    assert interlock.check(seen(901.0, unexplained=0.0, duty_asked=0.5, dt_s=0.0)) is None


def test_water_that_boils_off_is_no_dead_element_while_the_reading_stands(make, let_watch):
    def heats(falls: float):
        def at(s: float) -> dict[str, object]:
            reads_c = 20.0 + 0.2 * s if s < 400.0 else 100.0 - falls * (s - 400.0)
            missing = min(max(s - 400.0, 0.0) / 40.0, 0.85)
            return {"process_c": reads_c, "setpoint_c": 218.0, "unexplained": -missing, "duty_asked": 1.0}

        return at

    assert let_watch(make(EnergyBalance), 800, heats(0.0)) is None
    assert let_watch(make(EnergyBalance), 800, heats(0.05)).at_s < 490.0
    assert let_watch(make(EnergyBalance), 1200, heats(0.0)).at_s > 1000.0


def boils_from_92(missing, whole=0.0, k_per_s=0.1, to_c=134.0):
    """Return a heat whose second pulse begins at 92 degC, after a coast: it shows no edge of its pace."""

    def at(s: float) -> dict[str, object]:
        reads_c = 60.0 + 0.02 * s if s < 1600.0 else min(92.0 + k_per_s * (s - 1600.0), to_c)
        lacks = missing * min(max(s - 1650.0, 0.0) / 60.0, 1.0)
        full = s < 120.0 or s >= 1600.0
        lacks = lacks if s >= 1600.0 else whole
        return {"process_c": reads_c, "setpoint_c": 218.0, "unexplained": -lacks, "duty_asked": float(full)}

    return at


def test_a_pulse_that_begins_where_water_boils_shows_it_by_the_heat_that_begins_to_be_missing(
    make, let_watch
):
    """Damp sand 92: cut at 49 degC, it coasted to 92 and got its next pulse there."""
    assert let_watch(make(EnergyBalance), 2000, boils_from_92(0.8)) is None
    # What was missing below is no water, and it lasts ten minutes at most.
    assert let_watch(make(EnergyBalance), 2000, boils_from_92(0.8, whole=0.3)).at_s < 1760.0
    stays = boils_from_92(0.8, k_per_s=0.02)
    assert let_watch(make(EnergyBalance), 2600, stays).at_s < 2300.0


def test_a_heavy_charge_that_lacks_ever_as_much_below_hides_no_water(make, let_watch):
    """Damp sand 101 with 1.5 kg: a quarter was missing from 40 degC on, and at 103 degC ever more."""

    def at(from_c):
        def course(s: float) -> dict[str, object]:
            reads_c = 20.0 + 0.2 * s if s < 360.0 else 92.0 + 0.12 * (s - 360.0)
            grows = 0.7 * min(max(reads_c - from_c, 0.0) / 12.0, 1.0)
            return {
                "process_c": reads_c,
                "setpoint_c": 218.0,
                "unexplained": -0.25 - grows,
                "duty_asked": 1.0,
            }

        return course

    assert let_watch(make(EnergyBalance), 660, at(96.0)) is None
    # An element that dies below where water boils lacks more by the second.
    assert let_watch(make(EnergyBalance), 660, at(85.0)).at_s < 400.0


def test_what_a_weak_supply_lacks_from_the_beginning_is_no_part_of_half_an_element(make, let_watch):
    """Damp lining 101 at 92 % of its supply lacked 0.42 for minutes while its walls dried, at 260 degC."""

    def at(before, lacks):
        return lambda s: {"unexplained": -before if s < 300.0 else -lacks}

    assert let_watch(make(EnergyBalance), 500, at(0.18, 0.43)) is None
    assert let_watch(make(EnergyBalance), 500, at(0.0, 0.43)).at_s < 363.0
    # Half of what came: found as soon as ever.
    assert let_watch(make(EnergyBalance), 500, at(0.18, 0.59)).at_s < 322.0


def test_what_was_missing_over_water_fades_and_comes_back_as_long_as_a_coast(make, let_watch, limits):
    """Damp sand 93 by PID: 59 % missing and fading at 116 degC, then 76 % that nobody asked for."""

    def at(s: float) -> dict[str, object]:
        stands = 400.0 <= s < 600.0
        reads_c = 20.0 + 0.2 * s if s < 400.0 else 100.0 if stands else 100.0 + 0.15 * (s - 600.0)
        lacks = min(max(s - 400.0, 0.0) / 40.0, 0.85) if s < 600.0 else max(0.85 - (s - 600.0) / 100.0, -0.7)
        return {
            "process_c": reads_c,
            "setpoint_c": 218.0,
            "unexplained": -lacks,
            "duty_asked": float(s < 620),
        }

    assert let_watch(make(EnergyBalance), 900, at) is None

    def grows(s: float) -> dict[str, object]:
        return at(s) if s < 601.0 else at(s) | {"unexplained": -0.85, "duty_asked": 0.8}

    assert let_watch(make(EnergyBalance), 900, grows).at_s < 650.0

    def stuck(s: float) -> dict[str, object]:
        return at(s) if s < 700.0 else at(s) | {"unexplained": 0.95}

    assert let_watch(make(EnergyBalance), 900, stuck).at_s < 730.0


def test_more_than_the_model_knows_counts_beyond_what_learning_left_unexplained_only(make, let_watch, limits):
    """Damp sand 92: 0.13 more than its model, whose learning left 0.55 unexplained, made 0.64 of it 0.77."""

    def at(s: float) -> dict[str, object]:
        return {"unexplained": 0.2 if s < 1200.0 else -0.32, "duty_asked": 1.0, "process_c": 400.0}

    known = replace(limits.model, unexplained=0.05)
    wild = replace(limits.model, unexplained=0.3)
    assert let_watch(make(EnergyBalance, model=known), 1350, at) is not None
    assert let_watch(make(EnergyBalance, model=wild), 1350, at) is None


def test_an_isolator_that_is_off_in_a_step_has_two_minutes(make, let_watch):
    """Each step at an oven without a door switch asks for it; a held furnace then lacks all its heat."""
    off = {"duty_asked": 0.5, "unexplained": -0.5, "segment_kind": "operator", "door_open": None}
    interlock = make(EnergyBalance)
    assert let_watch(interlock, 90, off) is None
    assert let_watch(interlock, 3, off | {"segment_kind": "soak"}, 91.0) is None
    assert let_watch(make(EnergyBalance), 200, off).at_s == 119.0
    assert let_watch(make(EnergyBalance), 60, off | {"door_open": False}).at_s == 19.0


@pytest.mark.parametrize("wet", [False, True])
def test_a_relay_that_welds_in_a_hold_after_a_drying_is_found_as_soon_as_in_a_dry_oven(wet, make, let_watch):
    """What an estimate still owes to water is forgiven for a while after it, not for the rest of the heat."""
    lock = make(EnergyBalance, learned=True)

    def dries_and_holds(s):
        c, heat = (20.0 + 0.3 * s, 0.0) if s < 250 else (95.0 + 0.02 * (s - 250.0), -0.6 * wet)
        if s >= 500:
            c, heat = 100.0 + 0.36 * (s - 500.0), -0.5 * wet * (s < 600)
        duty = 1.0 if s < 870 else 0.3
        return {"process_c": min(c, 218.0), "setpoint_c": 218.0, "unexplained": heat, "duty_asked": duty}

    def welded(s):
        return {"process_c": 218.0, "setpoint_c": 218.0, "unexplained": 0.7, "duty_asked": 0.3}

    assert let_watch(lock, 5000, dries_and_holds) is None
    assert let_watch(lock, 300, welded, 5001.0).at_s - 5001.0 <= 60.0
