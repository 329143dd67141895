"""How far a second pulse may go, by what the first one of the same heat gave.

Where full heat comes back into a coast that is not over, its own slope has not developed yet when the cut is
asked about, and the model that left the first pulse short is the one that is asked again: a muffle with a
slower sensor passed 218 degC by 10 K. What the first pulse lifted the reading by in all, over its seconds of
full heat, needs no model. Heat comes out of hiding by the first order, in the time for which the learning's
own pauses have shown this oven to coast.
"""

import math

# A reading that has risen by less stands still.
_RISEN_K = 0.5
# Heat stays hidden for so many times as long as the seconds of its slope that an oven coasts: a sensor may be
# slower today, and the first order lets go of it sooner than several masses in a row.
_HIDES = 1.5


class SecondPulse:
    """Follows the pulses of one approach. One per goal.

    `still_s` is for how long a hold's reading has not risen.
    """

    def __init__(self, from_c: float) -> None:
        """`from_c` is the reading of an oven at rest, where the first pulse begins."""
        self._from_c, self._heat_s = from_c, 0.0
        self._gives = self._hidden_k = 0.0
        self._highest_c, self.still_s = -math.inf, 0.0

    @property
    def first(self) -> bool:
        """True until full heat has come back."""
        return not self._gives

    def heat(self, heat: float, dt_s: float) -> None:
        """Take the heat (0..1) that flowed in a tick."""
        self._heat_s += heat * dt_s

    def hide(self, lifts: float, coast_s: float, dt_s: float) -> None:
        """Take the heat of a tick that lifts the oven: what flowed, less what left the chamber.

        `coast_s` is for how many seconds of its slope this oven coasts.
        """
        lifts = lifts if lifts > 0.0 else 0.0
        self._hidden_k += (self._gives * lifts - self._hidden_k / (_HIDES * coast_s + 1.0)) * dt_s

    def again(self, reads_c: float, rises_k: float) -> None:
        """Take note that full heat comes back, while the reading would rise by so much of itself."""
        self._gives = max(reads_c + rises_k - self._from_c, 0.0) / max(self._heat_s, 1.0)
        self._hidden_k = rises_k
        self._highest_c = -math.inf

    def room_k(self, reads_c: float, ceiling_c: float) -> float:
        """Return how much of a ceiling is left by now; infinite where nothing is known of a first pulse."""
        return ceiling_c - reads_c - self._hidden_k if self._gives else math.inf

    def sees(self, reads_c: float, dt_s: float) -> None:
        """Take a tick of the hold that follows."""
        self.still_s += dt_s
        if reads_c > self._highest_c + _RISEN_K:
            self._highest_c, self.still_s = reads_c, 0.0

    def most_lift(self, reads_c: float, coast_s: float, ceiling_c: float) -> float:
        """Return the heat (0..1) beyond what leaves the chamber that hides no more than a ceiling leaves."""
        return max(ceiling_c - reads_c, 0.0) / (self._gives * (_HIDES * coast_s + 1.0))

    def longest_on_s(self, reads_c: float, ceiling_c: float) -> float:
        """Return for how many seconds more full heat may flow."""
        return max(self.room_k(reads_c, ceiling_c), 0.0) / self._gives if self._gives else math.inf
