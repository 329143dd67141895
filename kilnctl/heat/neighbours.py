"""What an oven tells the others of its controller, so that each can see whether ovens are crossed."""

from kilnctl.heat.heat_state import HeatState
from kilnctl.heat.trend import Trend
from kilnctl.interlocks.crossed_ovens import CrossedOvens
from kilnctl.readings import Neighbour
from kilnctl.stages import LIVE

ALONE = Neighbour(0.0, 0.0)  # told where no other oven listens


def told(now: HeatState, trend: Trend) -> Neighbour:
    """Return what the others may know of an oven. Read from their threads: each value as it stands."""
    rise_k, share = trend.value
    return Neighbour(
        rise_k=rise_k,
        heat=share,
        asked=trend.asked,
        unexplained=now.unexplained,
        gains=trend.gains,
        goes_on=trend.goes_on,
        loses=trend.loses,
        over=now.state not in LIVE,
        crossed=now.trip is not None and now.trip.kind == CrossedOvens.kind,
    )
