"""What a heater gives whose current is let up slowly: each time it is switched on, full power comes later.

The rise is a straight line (a simplification of what phase-angle controllers and current limiters do). So the
first `soft_s` seconds of a pulse bring half of their heat, and a pulse of a third of that time a sixth.
"""

from collections.abc import Sequence
from itertools import pairwise


def given(since_s: float, dt_s: float, soft_s: float) -> float:
    """Return the mean share of full power over dt_s, begun `since_s` after the switching on."""
    if since_s + dt_s <= soft_s:
        return (since_s + dt_s / 2) / soft_s
    rises_s = soft_s - since_s
    return 1.0 if rises_s <= 0.0 else 1.0 - rises_s * rises_s / (2 * soft_s * dt_s)


class SoftStart:
    """Follows one heater. `soft_s` is the time to full power, 0 where it is there at once."""

    def __init__(self, soft_s: float) -> None:
        self._soft_s, self._on_s = soft_s, 0.0

    def gives(self, heat: float, dt_s: float) -> float:
        """Return the heat (0..1) that flows where the heater is on for this share of dt_s."""
        if not self._soft_s:
            return heat
        if heat <= 0.0:
            self._on_s = 0.0
            return 0.0
        share = given(self._on_s, dt_s, self._soft_s)
        self._on_s += dt_s
        return heat * share


def softened(heat: Sequence[float], dt_s: float, soft_s: float) -> list[float]:
    """Return a record of heat (0..1) as such a heater gave it."""
    heater = SoftStart(soft_s)
    return [heater.gives(share, dt_s) for share in heat]


def pulses(heat: Sequence[float]) -> list[tuple[int, int]]:
    """Return where the heat is on in a record: first sample and the one after the last, of each pulse."""
    on = [False, *(share > 0.5 for share in heat), False]
    edges = [i for i, (before, now) in enumerate(pairwise(on)) if before is not now]
    return list(zip(edges[::2], edges[1::2], strict=True))
