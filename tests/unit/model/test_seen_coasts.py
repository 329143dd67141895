"""The coasts that a learning heat has shown.

Outside: a reading that follows a steady rise late by a lag L goes on by slope times L once the rise ends
(first-order lag on a ramp, textbook).
"""

import math
import random

import pytest

from kilnctl.model.oven_model import Coasted
from kilnctl.model.seen_coasts import Climb, coast_s, coasts_of


def heat_up(lag_s, pauses_c, step_k=0.1, noise_k=0.0):
    """An oven that rises by 0.5 K/s at full heat and loses nothing, read late by lag_s."""
    dice, body_c, reads_c, heats, rest_s = random.Random(1), 20.0, 20.0, True, 0
    process_c, heat, left = [], [], list(pauses_c)
    while left or rest_s:
        if heats and reads_c >= left[0]:
            left.pop(0)
            heats, rest_s = False, int(8 * lag_s)
        elif not heats:
            rest_s -= 1
            heats = rest_s == 0 and bool(left)
        process_c.append(round((reads_c + dice.gauss(0.0, noise_k)) / step_k) * step_k)
        heat.append(float(heats))
        body_c += 0.5 * heats
        reads_c += (body_c - reads_c) * (1.0 - math.exp(-1.0 / lag_s))
    return process_c, heat


@pytest.mark.parametrize("lag_s", [15.0, 60.0])
@pytest.mark.parametrize(("step_k", "noise_k"), [(0.1, 0.15), (1.0, 0.3)])
def test_a_pause_shows_the_lag_of_its_oven(lag_s, step_k, noise_k):
    seen = coasts_of(*heat_up(lag_s, (120.0, 300.0), step_k, noise_k), 1.0)
    assert [coast.at_c for coast in seen] == [pytest.approx(118.5, abs=3.0), pytest.approx(298.5, abs=3.0)]
    assert [coast.after_s for coast in seen] == [pytest.approx(lag_s, rel=0.15, abs=3.0)] * 2


def test_a_wait_for_a_late_sensor_is_no_pause():
    assert [round(coast.at_c, -1) for coast in coasts_of(*heat_up(20.0, (24.0, 150.0)), 1.0)] == [150.0]


def test_between_two_pauses_the_seconds_fall_evenly_in_their_logarithm_and_below_them_they_stay():
    seen = (Coasted(100.0, 80.0), Coasted(300.0, 20.0))
    assert coast_s(seen, 200.0) == pytest.approx(40.0)
    assert coast_s(seen, 50.0) == pytest.approx(80.0)
    assert coast_s((), 200.0) == 0.0


def test_above_the_last_pause_they_go_on_falling_half_as_fast_and_never_rise():
    """Light fibre, paused at 145 and 578 degC only: 22 s were taken at 829 degC, where it coasts for 10.

    A face that gives its heat to a sensor by radiation does so by the cube of its temperature (textbook).
    """
    fibre = (Coasted(145.0, 91.0), Coasted(578.0, 22.0))
    by_radiation_s = 22.0 * ((578.0 + 273.0) / (829.0 + 273.0)) ** 3
    assert by_radiation_s < coast_s(fibre, 829.0) < 0.75 * 22.0
    assert coast_s(fibre, 600.0) == pytest.approx(22.0, rel=0.05)
    door = (Coasted(578.0, 5.0), Coasted(823.0, 9.0))
    assert coast_s(door, 900.0) == pytest.approx(9.0)
    assert coast_s(fibre[1:], 829.0) == pytest.approx(22.0)


def test_a_pause_whose_slope_had_not_developed_says_nothing_of_how_seconds_fall():
    """A muffle of the judges: 264 s at 49 degC, 334 at 94, 161 at 161; its true coast at 193 is 154 s."""
    muffle = (Coasted(49.0, 264.0), Coasted(94.0, 334.0), Coasted(161.0, 161.0))
    assert coast_s(muffle, 193.0) == pytest.approx(154.0, rel=0.05)


def test_a_slope_is_told_from_whole_kelvins_within_a_tenth():
    climb = Climb()
    for at in range(300):
        climb.see(float(round(20.0 + 0.11 * at)), 1.0)
    assert climb.slope == pytest.approx(0.11, rel=0.1)
