"""A sensor that slides out in a soak while nobody is at the oven, where no switch tells of the door.

The ovens are the judges', built otherwise than the models that were learned of them. At 952cabd4 each fall of
such a reading passed for a door, and what a charge might have taken was no claim for twenty minutes, again
and again: of the cases here one was stopped after 1251 s and 313 K above its goal, the others never.
"""

import json
from functools import cache
from pathlib import Path

import pytest

from kilnctl.model.oven_model import OvenModel
from tests.bench.control.judges.slips import slip

LEARNED = Path(__file__).parent / "judges_learned"


@cache
def model(oven: str) -> OvenModel:
    return OvenModel.from_dict(json.loads((LEARNED / f"{oven}.json").read_text(encoding="utf-8")))


@pytest.mark.parametrize(
    ("oven", "goal_c", "slid", "most_s", "most_k"),
    [
        ("embedded-108", 218, (0.55, 600.0, 300.0), 480.0, 75.0),
        ("open-coil-108", 218, (0.55, 600.0, 300.0), 360.0, 50.0),
        ("open-coil-108", 218, (0.7, 120.0, 300.0), 200.0, 50.0),
        ("closed-box-108", 218, (0.55, 600.0, 1500.0), 480.0, 50.0),
        ("light-fibre-108", 218, (0.55, 600.0, 1500.0), 300.0, 50.0),
        ("light-fibre-108", 829, (0.55, 600.0, 1500.0), 300.0, 120.0),
    ],
)
def test_a_sensor_that_slides_out_is_no_charge(oven, goal_c, slid, most_s, most_k):
    """`slid`: the share that it sees in the end, over how many seconds, how long after the goal."""
    family, _, seed = oven.rpartition("-")
    after_s, over_k, why = slip(family, int(seed), goal_c, model(oven), slid)
    assert why
    assert after_s <= most_s
    assert over_k <= most_k
