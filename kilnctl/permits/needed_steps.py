"""Which set-up steps each kind of heat needs on an oven, and which make no sense there."""

from typing import Literal

from kilnctl.config.oven import Oven
from kilnctl.permits.setup_steps import BY_NAME, SetupStep
from kilnctl.profile.segments import Profile

# Above this a heat needs more than a tempering oven does (common practice for the tempering range).
TEMPER_C = 260.0
RunKind = Literal["live", "above 260", "unattended temper", "unattended heat"]


_LIVE = ("caution", "oven file", "bus check", "dead-man test", "heater pulse", "cold check", "drop test")
_LIVE_HEAT = (*_LIVE, "earth and insulation")
_UNATTENDED = (
    "limit test",
    "weld drill",
    "door test",
    "sensor-out drill",
    "power drill",
    "horn and messages",
    "first temper",
    "fire equipment",
)
_NEEDS: dict[RunKind, tuple[str, ...]] = {
    "live": _LIVE_HEAT,
    "above 260": (*_LIVE_HEAT, "sensor-out drill"),
    "unattended temper": (*_LIVE_HEAT, *_UNATTENDED),
    "unattended heat": (*_LIVE_HEAT, *_UNATTENDED, "reference check", "learn", "overshoot check"),
}
# Never left alone: who hardens must quench, and a first firing or a learning run meets the unknown.
NEVER_ALONE = ("harden", "tune", "first firing")


def needs(kind: RunKind, oven: Oven) -> tuple[SetupStep, ...]:
    """Return the steps that a kind of heat needs on this oven."""
    return tuple(BY_NAME[name] for name in _NEEDS[kind] if name not in spared(oven))


def spared(oven: Oven) -> set[str]:
    """Return the steps that make no sense on this oven.

    An instrument that keeps heating when the computer is lost has no dead-man: it is never left alone.
    """
    found = {"weld drill"} if oven.signal.heater_live is not None else set()
    found |= set() if oven.signal.door_open is not None else {"door test"}
    return found | ({"dead-man test"} if oven.attended_only else set())


def kind_of(profile: Profile, unattended: bool) -> RunKind:
    """Return what kind of heat a profile is."""
    if unattended:
        return "unattended temper" if profile.peak_c <= TEMPER_C else "unattended heat"
    return "live" if profile.peak_c <= TEMPER_C else "above 260"
