"""What a filter believed some seconds ago, and what it has read since.

Where what came since was no oven's doing, that is believed again, and read again for what it was.
"""

from collections import deque
from typing import NamedTuple

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


class Read(NamedTuple):
    """A tick of a filter: its time, its reading in degC, the heat (0..1) that flowed before it, how long."""

    age_s: float
    process_c: float
    heat: float
    dt_s: float


class Beliefs:
    """The estimates of the last seconds, and the readings since the oldest."""

    def __init__(self) -> None:
        self._kept: deque[Belief] = deque()
        self._read: deque[Read] = deque()

    def read(self, tick: Read) -> None:
        """Keep a tick that an estimate may take in again."""
        self._read.append(tick)

    def keep(self, belief: Belief) -> None:
        """Keep an estimate; what is older than is needed goes."""
        kept, read = self._kept, self._read
        kept.append(belief)
        while len(kept) > 1 and belief.age_s - kept[1].age_s >= _KEPT_S:
            kept.popleft()
        while read and read[0].age_s <= kept[0].age_s:
            read.popleft()

    def take_back(self) -> tuple[Belief | None, list[Read]]:
        """Return the oldest that is kept (None: there is none) and what was read since; forget it all."""
        oldest, since = (self._kept[0], list(self._read)) if self._kept else (None, [])
        self._kept.clear()
        self._read.clear()
        return oldest, since
