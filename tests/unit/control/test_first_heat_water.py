"""An oven that nobody has learned, with water in it: a coast into steam says nothing of the dry oven.

The plants are textbook ones: a store with loss, what lies in it behind a first-order lag, held at 100 degC
(the boiling point of water at sea level) until the latent heat is paid, a sensor behind another lag.
"""

import itertools

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.control.control_io import ControlInput
from kilnctl.control.first_heat import FirstHeat

OVEN = load_oven(bundled("ovens") / "hardening-furnace.toml").model_copy(update={"elements": None})
ROOM_C, BOILS_C, GOAL_C = 20.0, 100.0, 218.0


class Damp:
    """`gain` K/s of full heat into a store that loses 1/loss_s of its rise; `wet_k`: kelvins that boil away.

    The sensor stands `share` nearer to the hot side than what is wet.
    """

    def __init__(self, gain, loss_s, lag_s, sensor_s, wet_k, share=0.1):
        self.gain, self.loss_s, self.lag_s, self.sensor_s = gain, loss_s, lag_s, sensor_s
        self.store_c = self.sand_c = self.true_c = ROOM_C
        self.wet_k, self.share = wet_k, share

    def step(self, heat):
        self.store_c += self.gain * heat - (self.store_c - ROOM_C) / self.loss_s
        comes_k = (self.store_c - self.sand_c) / self.lag_s
        boils_k = min(max(self.sand_c + comes_k - BOILS_C, 0.0), self.wet_k)
        self.wet_k -= boils_k
        self.sand_c += comes_k - boils_k
        near_c = self.sand_c + self.share * (self.store_c - self.sand_c)
        self.true_c += (near_c - self.true_c) / self.sensor_s


def heat(plant, seconds=16000):
    """Return the true course of a first heat, its relay in windows of ten seconds."""
    first, course, on = FirstHeat(OVEN), [], False
    for t in range(seconds):
        look = ControlInput(
            at_s=float(t),
            dt_s=1.0,
            process_c=round(plant.true_c, 1),
            setpoint_c=GOAL_C,
            goal_c=GOAL_C,
            segment_kind="soak",
            heat_wanted=True,
            preview=lambda s: GOAL_C,
        )
        on = (t % 10) < round(10 * first.step(look, float(on)))
        plant.step(float(on))
        course.append(plant.true_c)
    return course


# gain, loss, lag, sensor, wet, share. Of sand (0.8 kJ/kgK) 4 % of water (2257 kJ/kg) are 110 K.
WET = list(itertools.product((0.4, 0.6), (4000.0,), (200.0, 400.0), (200.0,), (120.0,), (0.0, 0.3)))
WETTER = [
    (0.4, 8000.0, 450.0, 120.0, 80.0, 0.1),
    (0.4, 8000.0, 450.0, 40.0, 80.0, 0.1),
    (0.6, 4000.0, 400.0, 60.0, 250.0, 0.0),
    (0.4, 4000.0, 400.0, 200.0, 250.0, 0.0),
    (0.6, 4000.0, 400.0, 200.0, 250.0, 0.3),
    (0.6, 4000.0, 200.0, 200.0, 250.0, 0.0),
]


@pytest.mark.parametrize("plant", WET + WETTER)
def test_a_first_heat_over_water_does_not_pass(plant):
    """A coast into steam passed for a short lag, a stand over water for rest: up to 118 K over."""
    course = heat(Damp(*plant))
    assert max(course) < GOAL_C + 5.0
    assert abs(course[-1] - GOAL_C) < 3.0


@pytest.mark.parametrize("plant", [(*plant[:4], 0.0, 0.1) for plant in WETTER])
def test_the_same_ovens_dry_arrive_as_before(plant):
    course = heat(Damp(*plant))
    assert max(course) < GOAL_C + 4.0
    assert abs(course[-1] - GOAL_C) < 1.0
