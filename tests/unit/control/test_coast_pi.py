"""A PI that knows what a second of heat gives and how late the reading is holds any store with lags.

Plants of the textbook (a store that loses, first-order lags), written in test_first_heat.
"""

import math
from dataclasses import replace

import pytest

from kilnctl.control.coast_pi import CoastPi, LongPulse
from kilnctl.control.control_io import ControlInput
from kilnctl.control.settling import Course
from tests.unit.control.test_first_heat import Plant

LOOK = ControlInput(0.0, 1.0, 200.0, 218.0, 218.0, "soak", True, lambda _s: 218.0)


def held(plant, holds, gives, lag_s, seconds=4000, steals=None):
    """Return the course of a plant that stands at 200 degC and is held at 218."""
    pi, course, seen = CoastPi(), Course(), []
    plant.store_k = 180.0
    plant.seen_k = [180.0] * len(plant.seen_k)
    plant.step(180.0 / plant.loss_s / plant.gain)
    pi.begin(holds, 0.0, gives)
    duty = 0.0
    for t in range(seconds):
        course.see(plant.reads_c, 1.0)
        pi.asked(duty, lag_s, 1.0)
        look = replace(LOOK, at_s=float(t), process_c=plant.reads_c)
        duty = pi.step(look, course.mean_c, course.slope, 218.0, gives, lag_s, look.dt_s)
        plant.step(duty - (steals(t) if steals else 0.0))
        seen.append(plant.true_c)
    return seen


@pytest.mark.parametrize("lags_s", [(20.0, 10.0), (60.0, 40.0), (150.0, 50.0)])
@pytest.mark.parametrize("share", [0.5, 1.5])
def test_it_arrives_and_stays_though_its_first_guess_was_wrong_by_half(lags_s, share):
    plant = Plant(0.6, 3000.0, lags_s)
    needs = 198.0 / 3000.0 / 0.6
    seen = held(plant, share * needs, 0.6, sum(lags_s) + 14.0)
    assert max(seen) < 221.0
    assert all(abs(c - 218.0) < 0.5 for c in seen[-600:])


def test_walls_that_are_known_to_drink_less_and_less_leave_no_offset():
    """Heat is stolen at first, and ever less; told of it the integral has nothing to find."""
    lags_s, gone = (40.0, 20.0), lambda t: 0.3 * 0.999**t

    def offset(told):
        pi_shift, plant = CoastPi.shift, Plant(0.6, 3000.0, lags_s)
        pi, course, duty, off = CoastPi(), Course(), 0.0, []
        plant.store_k, plant.seen_k = 198.0, [198.0] * 2
        pi.begin(0.3 + 198.0 / 3000.0 / 0.6, 0.0, 0.6)
        for t in range(2000):
            course.see(plant.reads_c, 1.0)
            pi.asked(duty, 74.0, 1.0)
            if told:
                pi_shift(pi, gone(t) - gone(t - 1))
            duty = pi.step(LOOK, course.mean_c, course.slope, 218.0, 0.6, 74.0, LOOK.dt_s)
            plant.step(duty - gone(t))
            off.append(plant.true_c - 218.0)
        return sum(off[400:]) / 1600

    assert abs(offset(told=True)) < 0.3
    assert offset(told=False) > 2 * abs(offset(told=True))


@pytest.mark.parametrize(("told", "least_k", "most_k"), [(True, 0.0, 2.0), (False, 5.0, 20.0)])
def test_a_charge_that_drinks_ever_less_is_no_loss(told, least_k, most_k):
    """A thick tube went on giving 0.7 while its charge came to drink a tenth of what it had: 8 K over."""
    lags_s, drunk = (40.0, 20.0), lambda t: 0.5 * math.exp(-t / 80.0)
    needs = 198.0 / 3000.0 / 0.6
    plant, pi, course, duty, off_k = Plant(0.6, 3000.0, lags_s), CoastPi(), Course(), 0.0, []
    plant.store_k, plant.seen_k = 194.0, [194.0] * 2
    pi.begin(needs + drunk(0), 0.0, 0.6, after_door=told)
    for t in range(1200):
        course.see(plant.reads_c, 1.0)
        pi.asked(duty, 74.0, 1.0)
        if told:
            pi.shift(drunk(t) - drunk(max(t - 1, 0)))
        duty = pi.step(LOOK, course.mean_c, course.slope, 218.0, 0.6, 74.0, LOOK.dt_s)
        plant.step(duty - drunk(t))
        off_k.append(plant.true_c - 218.0)
    assert least_k <= max(off_k) < most_k


def test_a_coast_below_the_goal_does_not_wind_its_integral_down():
    pi = CoastPi()
    pi.begin(0.2, 0.5, 0.6)
    for _ in range(300):
        pi.asked(0.0, 100.0, 1.0)
        assert pi.step(LOOK, 190.0, 0.5, 218.0, 0.6, 100.0, LOOK.dt_s) == 0.0
    # The coast is over, 2 K short: what holds it is asked at once.
    assert pi.step(LOOK, 216.0, 0.0, 218.0, 0.6, 100.0, LOOK.dt_s) > 0.2


def test_a_slow_rise_below_the_goal_is_paid_for_by_what_a_long_pulse_gave():
    """Thick tube and open coil 92, not learned: walls drink ever less, and the integral went on rising."""

    def holds_after(pulse):
        pi = CoastPi()
        pi.begin(0.5, 0.05, 3.0)
        for t in range(300):
            pi.asked(0.6, 60.0, 1.0)
            reads_c = 203.0 + 0.05 * t
            pi.step(LOOK, reads_c, 0.05, 218.0, 3.0, 60.0, 1.0, pulse)
        return pi.step(LOOK, 218.0, 0.0, 218.0, 3.0, 60.0, 1.0)

    assert holds_after(LongPulse(lifts=0.25)) < holds_after(None) - 0.03
    # A pulse that lost nothing says what the oven gives anyhow.
    assert holds_after(LongPulse(lifts=3.0)) == holds_after(None)


def test_a_noise_about_a_reading_that_stands_is_no_slow_rise():
    """Its mean is nothing. Of a stone floor's the half that goes up counted: held 2.4 K low."""
    pi = CoastPi()
    pi.begin(0.55, 0.0, 1.3)
    for t in range(600):
        pi.asked(0.55, 53.0, 1.0)
        slope = 0.028 if t // 10 % 2 else -0.028
        pi.step(LOOK, 215.5, slope, 218.0, 1.3, 53.0, 1.0, LongPulse(lifts=0.06))
    assert pi.holds > 0.53


def test_an_oven_that_soon_answers_no_more_is_held_by_a_quicker_integral():
    def off_after(pulse):
        pi = CoastPi()
        pi.begin(0.5, 0.0, 3.0)
        for t in range(120):
            pi.asked(0.45, 60.0, 1.0)
            duty = pi.step(LOOK, 224.0 - 0.05 * t, -0.05, 218.0, 3.0, 60.0, 1.0, pulse)
        return duty

    assert off_after(LongPulse(3.0, 30.0)) < off_after(LongPulse(3.0)) - 1e-3


def test_on_the_last_way_to_a_goal_without_a_rate_it_hurries_as_in_the_soak():
    """A retort that came near its goal on a ramp without a rate crept up for half an hour more."""

    def holds_after(**way):
        pi = CoastPi()
        pi.begin(0.1, 0.0, 0.2)
        for _ in range(1200):
            pi.asked(pi.step(replace(LOOK, **way), 210.0, 0.0, 218.0, 0.2, 400.0, 1.0), 400.0, 1.0)
        return pi.holds

    soak = holds_after()
    ramp = holds_after(segment_kind="ramp")
    other = holds_after(segment_kind="operator")
    assert soak > ramp > 0.1 + 1.3 * (other - 0.1)
