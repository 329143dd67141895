"""What the others may know of an oven: of a heat that is over nothing is told that was true before."""

from types import SimpleNamespace
from typing import cast

import pytest

from kilnctl.heat.heat_state import HeatState
from kilnctl.heat.neighbours import neighbour_of
from kilnctl.heat.trend import Trend
from kilnctl.interlocks.crossed_ovens import CrossedOvens, FirstAnswer
from kilnctl.readings import Trip
from kilnctl.stages import LIVE


def now(state: str, trip: Trip | None = None) -> HeatState:
    return cast("HeatState", SimpleNamespace(state=state, unexplained=0.3, trip=trip))


@pytest.mark.parametrize(("state", "over"), [*((state, False) for state in LIVE), ("tripped", True)])
def test_of_a_heat_that_is_over_the_balance_is_not_told(state: str, over: bool) -> None:
    turns = FirstAnswer("left")
    turns.turn = True
    said = neighbour_of(now(state), Trend(), turns)
    assert (said.over, said.turn, said.unexplained) == (over, not over, None if over else 0.3)


def test_that_ovens_are_crossed_is_told_by_the_trip() -> None:
    for kind in (CrossedOvens.kind, "sensor_lost"):
        trip = cast("Trip", SimpleNamespace(kind=kind))
        assert neighbour_of(now("tripped", trip), Trend(), FirstAnswer("left")).crossed == (
            kind == CrossedOvens.kind
        )
