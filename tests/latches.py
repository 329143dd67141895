"""A latch as a run arms it, at a known moment."""

from datetime import UTC, datetime

from kilnctl.marks.latch import Latch
from kilnctl.readings import ResetClass, Trip

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
STUCK = Trip("heat_without_demand", "the element is live", 12.0, reset=ResetClass.A)


def armed(at: datetime = NOW) -> Latch:
    """Return the latch of a run that has just armed it."""
    one = Latch("small oven", lambda: at, run=7)
    one.arm()
    return one
