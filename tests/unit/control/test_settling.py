"""What a reading does once the heat is cut: an arrival that stands still, a hold that swings or sits low."""

import math

import pytest

from kilnctl.control.settling import Arrival, Settling, Swing


def test_an_arrival_knows_its_slope_and_for_how_long_it_has_stood_still():
    arrival = Arrival()
    for t in range(60):
        arrival.see(200.0 + 0.1 * t, 1.0)
    assert arrival.slope == pytest.approx(0.1)
    assert arrival.stuck_s < 7.0
    for _ in range(100):
        arrival.see(205.9, 1.0)
    assert arrival.slope == 0.0
    assert arrival.stuck_s > 95.0


def swung(half_k, period_s=120.0, seconds=1800, around_k=0.0):
    swing = Swing()
    for t in range(seconds):
        swing.see(around_k + half_k * math.sin(2 * math.pi * t / period_s), 1.0)
    return swing


def test_a_swing_is_measured_by_its_smaller_side():
    assert swung(1.5).half_k == pytest.approx(1.5, abs=0.05)
    assert swung(1.5, around_k=0.5).half_k == pytest.approx(1.0, abs=0.05)
    assert swung(1.5, period_s=240.0).half_s == pytest.approx(120.0, abs=1.0)


def test_a_sag_that_is_slowly_made_good_is_no_half_of_a_swing():
    """A light fibre oven swung in halves of 30 s and then sagged for two minutes: no proof of lateness."""
    swing = Swing()
    for t in range(150):
        swing.see(2.0 * math.sin(math.pi * t / 30.0), 1.0)
    for _ in range(124):
        swing.see(-2.0, 1.0)
    assert swing.see(0.5, 1.0)
    assert swing.half_s == pytest.approx(30.0, abs=1.0)


def test_noise_about_the_set_point_and_a_hold_that_is_off_it_are_no_swings():
    assert swung(0.05).turns == 0
    assert swung(1.0, around_k=3.0).turns == 0
    fallen = swung(1.0)
    for _ in range(1000):
        fallen.see(0.0, 1.0)
    assert (fallen.half_k, fallen.turns) == (0.0, 0)


def test_a_hold_that_sits_low_aims_higher_until_it_is_there_and_no_further():
    """An oven that ends three quarters of a kelvin below its aim, two dead times late."""
    settling, at_k = Settling(), -0.75
    for _ in range(900):
        settling.see(-at_k, 60.0, 0.3, 4.0)
        at_k += (settling.trim_k - 0.75 - at_k) * 4.0 / 120.0
        assert at_k < 0.3
    assert at_k == pytest.approx(0.0, abs=0.05)


def test_a_trim_does_not_wind_up_where_the_duty_cannot_follow_but_always_goes_back():
    settling = Settling()
    for _ in range(100):
        settling.see(2.0, 60.0, 1.0, 4.0)
    assert settling.trim_k == 0.0
    for _ in range(40):
        settling.see(2.0, 60.0, 0.5, 4.0)
    high_k = settling.trim_k
    assert 0.0 < high_k <= 4.0
    for _ in range(40):
        settling.see(-2.0, 60.0, 0.0, 4.0)
    assert settling.trim_k < high_k / 2


def test_a_hold_that_keeps_swinging_aims_further_ahead_within_bounds():
    calm, wild = Settling(), Settling()
    for t in range(2000):
        calm.see(0.1 * math.sin(t / 5), 60.0, 0.3, 4.0)
        wild.see(1.5 * math.sin(t / 5), 60.0, 0.3, 4.0)
    assert calm.eased == 1.0
    assert wild.eased == 3.0
    assert wild.half_k == pytest.approx(1.5, abs=0.1)


def test_a_gentler_hold_may_aim_as_much_further_beside_its_set_point():
    """At 2.7 times as far ahead four kelvin were worth so little heat that a stone floor stayed 3 K low."""
    gentle, plain = Settling(), Settling()
    gentle.eased = 2.7
    for settling in (gentle, plain):
        for _ in range(500):
            settling.see(3.0, 50.0, 0.2, 4.0)
    assert plain.trim_k == pytest.approx(4.0)
    assert gentle.trim_k == pytest.approx(2.7 * 4.0)


def test_a_hold_that_stands_far_off_is_trimmed_and_one_that_moves_is_not():
    stands, moves = Settling(), Settling()
    for i in range(30):
        stands.see(9.0, 50.0, 0.2, 4.0)
        moves.see(18.0 - 0.4 * i, 50.0, 0.2, 4.0)
    assert stands.trim_k > 3.5
    assert abs(moves.trim_k) < 1.0


def test_a_trim_asks_for_the_same_heat_where_a_hold_aims_further_ahead():
    """An open coil: 1.3 K of trim were worth a fifth when the hold eased, and the oven sagged by 4 K."""
    settling = Settling()
    settling.trim_k = 1.5
    settling.aims(9.0, 29.0)
    assert settling.trim_k == 1.5  # nothing is known of before
    settling.aims(18.0, 4 * 29.0)
    assert settling.trim_k == pytest.approx(3.0)
    settling.aims(0.0, 0.0)
    assert settling.trim_k == pytest.approx(3.0)


def test_a_trim_may_need_as_many_more_kelvins_as_one_is_worth_less_heat():
    settling = Settling()
    settling.aims(9.0, 29.0)
    settling.aims(27.0, 9 * 29.0)
    for _ in range(2000):
        settling.see(0.9, 40.0, 0.3, 4.0)
    assert settling.trim_k == pytest.approx(12.0)


def test_a_trim_waits_while_its_hold_lands():
    """The filter finds what the model misses of a landing; a trim that found it too passed by 3 K."""
    landing, held = Settling(), Settling()
    for _ in range(40):
        landing.see(4.0, 60.0, 0.4, 4.0, lands=True)
        held.see(4.0, 60.0, 0.4, 4.0)
    assert landing.trim_k == 0.0
    assert held.trim_k > 2.0
