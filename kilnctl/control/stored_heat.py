"""What a warm oven still holds of what it was given before this heat: seen before anything is added to it.

No estimate knows it: a filter takes a warm oven for graded from its reading. A retort that read 190 degC rose
by 30 K without heat; full heat from the start carried it 12 K past 218. While nothing heats, what is stored
comes by the seconds for which the learning's own pauses have shown this oven to coast, times its slope.
"""

import math
from collections.abc import Sequence

from kilnctl.model.oven_model import Coasted
from kilnctl.model.seen_coasts import Climb, coast_s

# An oven that coasts for longer than this is watched for such a share of its coast before the heat; what a
# quicker one holds has come before it is at its goal.
_COASTS_S, _SHARE = 60.0, 0.125


class StoredHeat:
    """Watches a warm oven before its first heat, and remembers what is still to come. One per run.

    `over` once nothing is to be seen any more; `to_come_k`: by how much the reading will rise by itself,
    beside what is foreseen, in K.
    """

    def __init__(self, coasts: Sequence[Coasted]) -> None:
        self._coasts, self._climb = coasts, Climb()
        self._coast_s = self._watched_s = self.to_come_k = 0.0
        self.over = False

    def none(self) -> None:
        """Take note that nothing is to be seen any more: the oven was cold, is heated, or was disturbed."""
        self.over = True

    def watches(self, reads_c: float, foreseen_k: float, dt_s: float) -> bool:
        """Take a tick without heat; True while it is watched. `foreseen_k`: what an estimate knows of it."""
        self._climb.see(reads_c, dt_s)
        self._watched_s += dt_s
        self._coast_s = coast_s(self._coasts, reads_c)
        if self._coast_s > _COASTS_S and self._watched_s < _SHARE * self._coast_s:
            return True
        self.over = True
        if self._coast_s > _COASTS_S:
            self.to_come_k = max(self._climb.slope * self._coast_s - foreseen_k, 0.0)
        return False

    def passes(self, reads_c: float, dt_s: float) -> None:
        """Take a tick since then: it comes as by the first order, and no more than the slope says."""
        if self.to_come_k > 0.0:
            self._climb.see(reads_c, dt_s)
            faded_k = self.to_come_k * math.exp(-dt_s / self._coast_s)
            self.to_come_k = min(faded_k, max(self._climb.slope, 0.0) * self._coast_s)
