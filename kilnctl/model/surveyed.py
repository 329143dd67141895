"""How much hotter the hottest surveyed place of a chamber is than its sensor says.

No model of an oven knows it: a sensor in a cool corner draws the same heat-up as one in a cooler oven.
"""

from collections.abc import Iterable
from typing import NamedTuple

# What lies between two places grows with the heat that leaves the chamber, so with how much hotter than the
# room it is. Further from a survey than by half or twice that says nothing: radiation takes over on the way.
NEAR = 2.0


class Surveyed(NamedTuple):
    """A survey with the oven held at `at_c` (degC).

    `hot_k` is how much hotter than that its hottest place was in the hold, `way_k` how much at most on the
    way there, None where nobody has written it down.
    """

    at_c: float
    hot_k: float
    way_k: float | None = None


def hotter(surveys: Iterable[Surveyed], goal_c: float, ambient_c: float) -> Surveyed | None:
    """Return what the nearest survey means for a goal (degC), None where none is near enough."""
    rise_k = goal_c - ambient_c
    near = [s for s in surveys if rise_k > 0.0 and 1.0 / NEAR <= (s.at_c - ambient_c) / rise_k <= NEAR]
    if not near:
        return None
    best = min(near, key=lambda s: abs(s.at_c - goal_c))
    share = rise_k / (best.at_c - ambient_c)
    way_k = None if best.way_k is None else share * best.way_k
    return Surveyed(goal_c, share * best.hot_k, way_k)
