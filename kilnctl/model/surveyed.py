"""How much hotter the hottest surveyed place of a chamber is than its sensor says.

No model of an oven knows it: a sensor in a cool corner draws the same heat-up as one in a cooler oven.
"""

from collections.abc import Iterable
from typing import NamedTuple

# What lies between two places grows with the heat that leaves the chamber, so with how much hotter than the
# room it is. Further from a survey than by half or twice that says nothing: radiation takes over on the way.
NEAR = 2.0
# So far from where the oven was held a survey is of the same temperature.
SAME_K = 10.0


class Surveyed(NamedTuple):
    """A survey with the oven held at `at_c` (degC).

    `hot_k` is how much hotter than that its hottest place was in the hold, `way_k` how much at most on the
    way there, None where nobody has written it down. `day` is when it was kept, `ended` why it no longer
    counts. One that was carried to another goal has that as `at_c`, and in `held_c` where the oven was held.
    """

    at_c: float
    hot_k: float
    way_k: float | None = None
    day: str = ""
    ended: str = ""
    held_c: float | None = None

    @property
    def measured_at_c(self) -> float:
        """Return where the oven was held, degC."""
        return self.at_c if self.held_c is None else self.held_c

    @property
    def carried(self) -> bool:
        """Return whether it was made at another temperature than it is asked about."""
        return abs(self.measured_at_c - self.at_c) > SAME_K


def hotter(surveys: Iterable[Surveyed], goal_c: float, ambient_c: float) -> Surveyed | None:
    """Return what the nearest survey that counts means for a goal (degC), None where none is near enough."""
    return _nearest((s for s in surveys if not s.ended), goal_c, ambient_c)


def outdated(surveys: Iterable[Surveyed], goal_c: float, ambient_c: float) -> Surveyed | None:
    """Return the survey that would be nearest to a goal (degC) and no longer counts, None where none is."""
    return _nearest((s for s in surveys if s.ended), goal_c, ambient_c)


def _nearest(surveys: Iterable[Surveyed], goal_c: float, ambient_c: float) -> Surveyed | None:
    rise_k = goal_c - ambient_c
    near = [s for s in surveys if rise_k > 0.0 and 1.0 / NEAR <= (s.at_c - ambient_c) / rise_k <= NEAR]
    if not near:
        return None
    best = min(near, key=lambda s: abs(s.at_c - goal_c))
    share = rise_k / (best.at_c - ambient_c)
    way_k = None if best.way_k is None else share * best.way_k
    return best._replace(at_c=goal_c, hot_k=share * best.hot_k, way_k=way_k, held_c=best.at_c)
