"""What must never be. One explicit list, in the order in which causes are named when several speak."""

from kilnctl.config.oven import Oven
from kilnctl.interlocks.clocks import Stalled, SupervisorMute, Suspended, WallClockStepped
from kilnctl.interlocks.contract import Distance, Interlock
from kilnctl.interlocks.link_lost import ForeignTalk, LinkLost
from kilnctl.interlocks.over_temperature import OverTemperature
from kilnctl.interlocks.sensor_lost import SensorLost
from kilnctl.interlocks.stuck_on import HeatWithoutDemand, RisingWhileOff
from kilnctl.interlocks.thresholds import Thresholds

__all__ = ["INTERLOCKS", "Distance", "Interlock", "Thresholds", "build"]

INTERLOCKS = (
    Suspended,
    Stalled,
    OverTemperature,
    HeatWithoutDemand,
    ForeignTalk,
    LinkLost,
    SensorLost,
    RisingWhileOff,
    SupervisorMute,
    WallClockStepped,
)


def build(oven: Oven, thresholds: Thresholds) -> tuple[Interlock, ...]:
    """Return fresh interlocks for one run on one oven."""
    return tuple(kind(oven, thresholds) for kind in INTERLOCKS)
