"""Heat is asked and none comes: claimed within the hazard list's 145 s, where no switch tells of the door.

The oven is the simulator's, which knows nothing of the model that judges it; the heat is asked by a plain
proportional rule. A door, also with a cold part, is the near miss: it takes heat, it does not stop it.
"""

import json
import random
from pathlib import Path

import pytest

from kilnctl.model.observer import Observer
from kilnctl.model.oven_model import OvenModel
from simulator.oven import ovens
from simulator.oven.part import Part
from simulator.oven.plant import Plant

LEARNED = Path(__file__).parents[1] / "faults" / "learned"
OVENS = {
    "tempering-oven": (ovens.tempering_oven, 205.0),
    "hardening-furnace": (ovens.hardening_furnace, 770.0),
}
# The least that the balance of energy calls missing, of full power, and for how long.
MISSING, FOR_S, ASKED_S = 0.35, 20.0, 145.0


def model(oven: str) -> OvenModel:
    return OvenModel.from_dict(json.loads((LEARNED / f"{oven}.json").read_text(encoding="utf-8")))


def called_missing(oven, at_c, volts=1.0, heat_until_s=10**9, disturb=None, for_s=700):
    """Coast for two minutes from `at_c`, then heat to the goal; return seconds of heat asked until missed.

    `heat_until_s`: none comes from then on. `disturb(t, plant)` comes every second. None: nothing is missed.
    """
    make, goal_c = OVENS[oven]
    plant, noise, eye = (
        Plant(make().data, 20.0, at_c),
        random.Random(3),
        Observer(model(oven), switched=False),
    )
    for _ in range(900):
        plant.step(1.0 if plant.sensor.junction_c < at_c else 0.0, 1.0)
    owed = asked_s = over_s = 0.0
    for t in range(for_s):
        reads_c = round((plant.sensor.junction_c + noise.gauss(0.0, 0.2)) * 10) / 10
        owed = min(owed, 1.0) + (min(max(0.1 * (goal_c - reads_c) + 0.25, 0.0), 1.0) if t >= 120 else 0.0)
        on = owed >= 1.0
        owed -= on
        if disturb is not None:
            disturb(t, plant)
        plant.step(float(on) * volts**2 * (t < heat_until_s), 1.0)
        eye.step(reads_c, float(on), 20.0, 1.0)
        asked_s += on and t >= heat_until_s
        missing = eye.unexplained
        over_s = over_s + 1.0 if missing is not None and missing < -MISSING else 0.0
        if over_s >= FOR_S:
            return asked_s
    return None


@pytest.mark.parametrize("oven", OVENS)
@pytest.mark.parametrize(
    ("below_k", "volts", "lost_s"),
    [(15.0, 1.0, 0), (15.0, 1.06, 190), (15.0, 0.95, 215), (1.0, 1.0, 400)],
    ids=["never came", "lost in the rise", "lost soon after", "lost in the hold"],
)
def test_heat_that_does_not_come_is_no_door(oven, below_k, volts, lost_s):
    asked_s = called_missing(oven, OVENS[oven][1] - below_k, volts, lost_s)
    assert asked_s is not None
    assert asked_s <= ASKED_S


def opened(at_s, for_s, part_mm=None):
    def disturb(t, plant):
        plant.door_open = at_s <= t < at_s + for_s
        if part_mm is not None and t == at_s:
            plant.part = Part(section_mm=part_mm, mass_kg=1.5, at_c=20.0)

    return disturb


@pytest.mark.parametrize("oven", OVENS)
@pytest.mark.parametrize(
    ("at_s", "for_s", "part_mm"),
    [(130, 5, None), (200, 5, 6.0), (160, 120, None), (300, 12, 25.0)],
    ids=["soon shut", "thin part", "long open", "thick part"],
)
def test_a_door_and_a_cold_part_are_no_missing_heat(oven, at_s, for_s, part_mm):
    for below_k in (1.0, 15.0):
        assert (
            called_missing(oven, OVENS[oven][1] - below_k, 1.05, disturb=opened(at_s, for_s, part_mm)) is None
        )
