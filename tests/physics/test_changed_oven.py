"""An oven that has changed since it was learned: noticed in that heat, and the next heat starts from it."""

import pytest

from kilnctl.care.oven_knowledge import Known, found_changed
from kilnctl.control.heat_controller import HeatController
from tests.bench.control import jobs
from tests.bench.control.learnt import learned
from tests.bench.control.world import Case, ours

FAMILY, SEED, GOAL_C = "leaky", 31, 218


@pytest.fixture(scope="session")
def small_model(tmp_path_factory):
    return learned(FAMILY, SEED, tmp_path_factory.getbasetemp() / "learnt")


def one_heat(case, known):
    """Return the figures of a heat and what is known after it."""
    controller = HeatController(case.file(), known.model, True, known.control_model)
    row = jobs.approach(case, GOAL_C, ours(controller), 1.0)
    change = found_changed("oven", known, controller.evidence, 1)
    return row, known if change is None else Known(known.model, known.number, change)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("what", "says", "lag", "power"),
    [
        pytest.param(
            {"lag": 1.5}, "the sensor answers slower", (1.3, 1.7), (1.0, 1.0), marks=pytest.mark.on_demand
        ),
        ({"volts": 0.92}, "of the power", (1.0, 1.0), (0.8, 0.9)),
    ],
    ids=["sensor half as slow again", "supply 8 % low"],
)
def test_what_changed_is_noticed_kept_and_the_next_heat_is_good_also_once_it_is_mended(
    small_model, what, says, lag, power
):
    changed = Case(FAMILY, SEED, **what)
    first, known = one_heat(changed, Known(small_model, 1))
    assert says in first["note"]
    assert first["over_k"] < 5.0
    assert known.change is not None
    assert lag[0] <= known.change.lag <= lag[1]
    assert power[0] <= known.change.power <= power[1]
    following, known = one_heat(changed, known)
    assert following["over_k"] < 3.0
    mended, known = one_heat(Case(FAMILY, SEED), known)
    assert mended["over_k"] < 3.0
    assert (known.change.lag, known.change.power) == (1.0, 1.0)
