"""Does a reading stand because water boils off? Damp sand, a damp lining: it stays near 100 degC under heat.

All around gets hotter meanwhile, and no model of a dry oven says so. It is told by its edge: within half a
minute a reading that rose goes on at less than three fifths of its pace, though the heat is the same, and it
does not fall as it does where an element is dead or a sensor has slipped out.
"""

import math

# Where water boils: 92 degC at 2500 m (saturation pressure and standard atmosphere, as in care/boiling). The
# upper bound, behind what is damp, and the numbers below rest on the project's own damp ovens
# (control/RESULTS.md).
BOILS_C = (92.0, 115.0)
# What has begun to stand may creep on to here: it reads hot sand and wet together (as a first heat has it).
STANDS_TO_C = 135.0
# It is asked far from the goal only: a hold stands still too.
_BEHIND_K = 20.0
# It stands where it rises by less than this share of its pace before, for so long.
_SHARE, _FOR_S = 0.6, 4.0
# It has fallen, and is no boiling, this far below its highest.
_FALLEN_K = 1.0
# Slopes are those between two means, of so many seconds each; the pace before is forgotten over so long. A
# sharp edge is against the last minute: a dry oven that is off by a fifth in everything bends as far, slowly.
_QUICK_S, _SLOW_S, _PACE_S, EDGE_S = 4.0, 12.0, 600.0, 60.0
# No water is waited for longer: a sensor that has slipped into a port may stay near 100 degC for ever.
_LONGEST_S = 600.0


class Boiling:
    """Follows the readings of one heat, up to where water has boiled off."""

    def __init__(self, pace_s: float = _PACE_S) -> None:
        """`pace_s`: over how long the pace before is forgotten; the shorter, the sharper the edge."""
        self._pace_s = pace_s
        self._quick_c: float | None = None
        self._slow_c = self._pace = self._still_s = self._stood_s = 0.0
        self._highest_c = -math.inf

    def see(self, reads_c: float, goal_c: float | None, dt_s: float, begun: bool = False) -> bool:
        """Take one reading in degC; return whether it stands as over water that boils.

        `begun` where heat is missing that was not missing below: a pulse that begins at 92 degC has no pace
        before it, and shows no edge.
        """
        if self._quick_c is None:
            self._quick_c = self._slow_c = reads_c
        self._quick_c += (reads_c - self._quick_c) * min(dt_s / _QUICK_S, 1.0)
        self._slow_c += (reads_c - self._slow_c) * min(dt_s / _SLOW_S, 1.0)
        slope = (self._quick_c - self._slow_c) / (_SLOW_S - _QUICK_S)
        if reads_c < BOILS_C[0]:
            over_s = _SLOW_S if slope > self._pace else self._pace_s
            self._pace += (slope - self._pace) * min(dt_s / over_s, 1.0)
            self._highest_c = -math.inf
            return False
        self._highest_c = max(self._highest_c, self._quick_c)
        behind = goal_c is not None and goal_c - reads_c > _BEHIND_K
        falls = self._highest_c - self._quick_c > _FALLEN_K
        near = reads_c <= (STANDS_TO_C if self._still_s >= _FOR_S else BOILS_C[1])
        still = behind and not falls and near and (begun or slope < _SHARE * self._pace)
        self._still_s = self._still_s + dt_s if still else 0.0
        stands = self._still_s >= _FOR_S and self._stood_s < _LONGEST_S
        self._stood_s += dt_s if stands else 0.0
        return stands
