"""A limit cycle comes in one period (textbook); gusts, a disturbance that dies away and noise do not."""

import math
import random

import pytest

from kilnctl.control.own_swing import OwnSwing

WINDOW_S = 10.0


def found_after_s(moves_k, seconds=3600):
    swing = OwnSwing()
    return next((t for t in range(seconds) if swing.see(moves_k(t), WINDOW_S, 1.0)), None)


def pulled(t, up_s=55, down_s=35):
    """Return the uneven halves of a swing: it rises for longer than it falls."""
    place = t % (up_s + down_s)
    return math.sin(math.pi * place / up_s) if place < up_s else -math.sin(math.pi * (place - up_s) / down_s)


@pytest.mark.parametrize("size_k", [4.0, 15.0])
def test_what_swings_in_one_period_is_found_after_two(size_k):
    at_s = found_after_s(lambda t: size_k * pulled(t))
    assert at_s is not None
    assert at_s < 3.5 * 90


@pytest.mark.parametrize(
    "moves_k",
    [
        lambda t: 2.0 * pulled(t),
        lambda t: 15.0 * pulled(t, 6, 5),
        lambda t: 20.0 * math.exp(-t / 150.0) * pulled(t),
    ],
    ids=["little", "as short as the relay's pulses", "dies away"],
)
def test_what_is_no_swing_of_its_own_is_a_near_miss(moves_k):
    assert found_after_s(moves_k) is None


def test_gusts_are_rarely_taken_for_one():
    """Draught with a memory, as the judges' vented doors have it; half an hour each."""
    taken = 0
    for seed in range(40):
        dice, gust, slow, course = random.Random(seed), 0.0, 0.0, []
        for t in range(1800):
            if t % 15 == 0:
                gust = 0.7 * gust + dice.uniform(-20.0, 20.0)
            slow += (gust - slow) / 15.0
            course.append(slow)
        taken += found_after_s(lambda t, c=course: c[t], 1800) is not None
    assert taken <= 4
