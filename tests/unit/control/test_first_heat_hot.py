"""The first heat of an oven that nobody has learned, where it is hot already: it arrives, and does not pass.

The oven is a textbook one of two heat stores (chamber and wall) with a sensor behind lags, solved exactly by
scipy's matrix exponential. Nothing of the project's own model is in it.
"""

import random
from typing import NamedTuple

import numpy as np
import pytest
from scipy.linalg import expm

from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.control.control_io import ControlInput
from kilnctl.control.first_heat import FirstHeat

OVEN = load_oven(bundled("ovens") / "hardening-furnace.toml")
ROOM_C = 20.0


class Build(NamedTuple):
    """`gain` K/s of full heat into the chamber, the duty that holds it at 800 degC once its wall is settled,
    the seconds in which it gives its heat to the wall, the wall's share of its capacity, lags of the sensor.
    """

    gain: float
    held: float
    to_wall_s: float
    heavy: float
    lags_s: tuple[float, ...]
    elements: str = "open"


BUILDS = {
    "brick": Build(0.30, 0.45, 300.0, 6.0, (20.0, 12.0)),
    "fibre": Build(1.2, 0.35, 200.0, 0.8, (15.0, 8.0)),
    "weak brick": Build(0.16, 0.55, 500.0, 5.0, (25.0, 15.0)),
    "muffle": Build(0.30, 0.40, 900.0, 3.0, (120.0, 40.0, 20.0), "muffle"),
}
# One that falls by ten kelvin and more in a look.
QUICK = Build(0.6, 0.7, 120.0, 3.0, (30.0, 10.0))
# Invented ones whose losses a late sensor hides, and one that needs nine tenths of its heater to hold.
LATE = {
    "late and losing": Build(1.12, 0.53, 424.0, 1.7, (124.0, 39.0, 10.0), "muffle"),
    "quick and losing": Build(1.91, 0.67, 320.0, 0.6, (14.0, 14.0)),
    "weak and losing": Build(0.29, 0.72, 366.0, 0.7, (10.0, 10.0)),
}
# A wall that has not drunk its fill takes this share of full heat more.
DRINKS = 0.1


class TwoStores:
    """Chamber, wall and a chain of sensor lags; `door` lets a share of the chamber's heat out each second."""

    def __init__(self, build, start_c, seed=1):
        self.size = 2 + len(build.lags_s)
        self.build, self.dice = build, random.Random(seed)
        self.shut, self.open = self.stepped(0.0), self.stepped(1.0 / 60.0)
        rise_k = start_c - ROOM_C
        duty = build.held * rise_k / 780.0 + DRINKS
        self.above_k = np.full(self.size, rise_k)
        self.above_k[1] -= duty * build.gain * build.to_wall_s

    def stepped(self, door):
        own = np.zeros((self.size + 1, self.size + 1))
        build = self.build
        out = 1.0 / build.to_wall_s
        to_room_s = build.heavy * (780.0 / (build.held * build.gain) - build.to_wall_s)
        own[0, 0], own[0, 1], own[0, -1] = -out - door, out, build.gain
        own[1, 0] = out / build.heavy
        own[1, 1] = -out / build.heavy - 1.0 / to_room_s
        for i, lag_s in enumerate(build.lags_s):
            before = 0 if i == 0 else 1 + i
            own[2 + i, before], own[2 + i, 2 + i] = 1.0 / lag_s, -1.0 / lag_s
        return expm(own)

    def step(self, heat, door=False):
        self.above_k = ((self.open if door else self.shut) @ np.append(self.above_k, heat))[:-1]

    @property
    def true_c(self):
        return ROOM_C + self.above_k[-1]

    @property
    def reads_c(self):
        return round((self.true_c + self.dice.gauss(0.0, 0.15)) * 10) / 10


def heat(plant, goal_c, seconds=7200, off_s=0, door=None, soak=False):
    """Return the sensor's true course; no heat is wanted for `off_s`, nor while `door` (from, to) is open.

    A ramp without a rate until the reading has come near once, then a soak; `soak`: a soak from the start.
    """
    oven = OVEN.model_copy(update={"elements": plant.build.elements})
    first, course, on = FirstHeat(oven), [], False
    for t in range(seconds):
        opened = door is not None and door[0] <= t < door[1]
        here_c = plant.reads_c
        soak = soak or here_c >= goal_c - 2.0
        look = ControlInput(
            at_s=float(t),
            dt_s=1.0,
            process_c=here_c,
            setpoint_c=goal_c,
            goal_c=goal_c,
            segment_kind="soak" if soak else "ramp",
            heat_wanted=t >= off_s and not opened,
            preview=lambda s: goal_c,
            door_open=opened,
        )
        duty = first.step(look, float(on))
        on = (t % 10) < round(10 * duty)
        plant.step(float(on), opened)
        course.append(plant.true_c)
    return np.array(course)


def judged(build, course, goal_c, within_s=4500):
    """A hidden element's hold may end a little further off: the wall drinks ever less, and the PI is slow."""
    mean_k, swing_k = (1.0, 3.0) if BUILDS[build].elements == "open" else (1.5, 4.0)
    assert course.max() < max(goal_c + 5.0, course[0] + 2.0)
    near = np.flatnonzero(course > goal_c - 3.0)
    assert len(near), f"never came nearer than {goal_c - course.max():.0f} K"
    assert near[0] < within_s
    assert abs(course[-900:].mean() - goal_c) < mean_k
    assert abs(course[-900:] - goal_c).max() < swing_k


def check_hot(build, start_c, above_k, off_s):
    goal_c = start_c + above_k
    judged(build, heat(TwoStores(BUILDS[build], start_c), goal_c, off_s=off_s), goal_c)


@pytest.mark.parametrize(
    ("build", "start_c", "above_k", "off_s"),
    [
        ("brick", 750.0, 30.0, 120),
        ("fibre", 750.0, 30.0, 120),
        ("weak brick", 600.0, 10.0, 0),
        ("muffle", 300.0, 60.0, 120),
    ],
)
def test_a_heat_that_starts_hot_arrives(build, start_c, above_k, off_s):
    check_hot(build, start_c, above_k, off_s)


@pytest.mark.on_demand
@pytest.mark.parametrize("build", BUILDS)
@pytest.mark.parametrize("start_c", [300.0, 600.0, 750.0])
@pytest.mark.parametrize("above_k", [10.0, 30.0, 60.0])
@pytest.mark.parametrize("off_s", [0, 120])
def test_every_heat_that_starts_hot_arrives(build, start_c, above_k, off_s):
    check_hot(build, start_c, above_k, off_s)


@pytest.mark.parametrize("build", BUILDS)
def test_a_hold_into_whose_first_minutes_a_door_falls_arrives(build):
    judged(build, heat(TwoStores(BUILDS[build], 750.0), 753.0, door=(30, 60), soak=True), 753.0)


@pytest.mark.parametrize("build", ["brick", "fibre"])
def test_the_cold_air_of_a_door_is_no_answer_to_a_pulse(build):
    course = heat(TwoStores(BUILDS[build], 300.0), 500.0, door=(60, 90), seconds=10800)
    judged(build, course, 500.0, within_s=8000)


@pytest.mark.on_demand
@pytest.mark.parametrize("build", BUILDS)
def test_a_hold_after_a_door_arrives_again(build):
    course = heat(TwoStores(BUILDS[build], 600.0), 640.0, seconds=14400, door=(7200, 7230))
    judged(build, course[:7200], 640.0)
    judged(build, course[7200:], 640.0)


@pytest.mark.on_demand
@pytest.mark.parametrize("build", BUILDS)
def test_a_run_that_goes_on_in_a_hot_oven_arrives(build):
    course = heat(TwoStores(BUILDS[build], 500.0), 640.0, off_s=300, seconds=14400)
    judged(build, course, 640.0, within_s=9000)


def test_an_oven_that_falls_quickly_does_not_sag_once_it_has_arrived():
    course = heat(TwoStores(QUICK, 640.0), 829.0, seconds=9000)
    arrived = int(np.flatnonzero(course > 826.0)[0])
    assert course.max() < 834.0
    assert course[arrived:].min() > 817.0


@pytest.mark.parametrize("build", LATE)
def test_losses_that_the_sensor_has_not_shown_do_not_count_against_a_pulse(build):
    """A pulse in a hot oven brings less than it loses: taken for its gain, that passed a goal by 170 K."""
    course = heat(TwoStores(LATE[build], 640.0), 829.0, seconds=6000)
    assert course.max() < 834.0
    assert abs(course[-900:].mean() - 829.0) < 1.5
