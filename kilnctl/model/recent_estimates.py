"""What a filter believed some seconds ago, to be believed again where what came since was no oven's doing."""

from collections import deque

from kilnctl.model.linear import Matrix
from kilnctl.model.oven_model import OvenState
from kilnctl.values import value

# Cold air is known for what it is after so long, where no switch tells of the door.
_KEPT_S = 20.0


@value
class Belief:
    """An estimate at a time of the heat, and the seconds of full heat that had flowed until then."""

    age_s: float
    flowed_s: float
    state: OvenState
    p: Matrix
    logs: list[float]
    unknown: float
    surprise: float


class Beliefs:
    """The estimates of the last seconds."""

    def __init__(self) -> None:
        self._kept: deque[Belief] = deque()

    def keep(self, belief: Belief) -> None:
        """Keep an estimate; what is older than is needed goes."""
        self._kept.append(belief)
        while len(self._kept) > 1 and belief.age_s - self._kept[1].age_s >= _KEPT_S:
            self._kept.popleft()

    def take_back(self) -> Belief | None:
        """Return the oldest that is kept, and forget them all; None where there is none."""
        oldest = self._kept[0] if self._kept else None
        self._kept.clear()
        return oldest
