"""What must never be. One explicit list, in the order in which causes are named when several speak."""

from dataclasses import replace
from typing import TypeVar

from kilnctl.config.oven import Oven
from kilnctl.interlocks.board_restarts import BoardRestarts
from kilnctl.interlocks.chatter import Chatter
from kilnctl.interlocks.clocks import Stalled, SupervisorMute, Suspended, WallClockStepped
from kilnctl.interlocks.contract import Distance, Interlock
from kilnctl.interlocks.control_swing import ControlSwing
from kilnctl.interlocks.crossed_ovens import CrossedOvens
from kilnctl.interlocks.door import DoorOpen
from kilnctl.interlocks.energy_balance import EnergyBalance
from kilnctl.interlocks.heater_dead import HeaterDead, NoProgress, OutputDisobeys
from kilnctl.interlocks.link_lost import ForeignTalk, LinkLost
from kilnctl.interlocks.other_oven import OtherOven
from kilnctl.interlocks.over_temperature import OverTemperature
from kilnctl.interlocks.sensor_answer import SensorAnswer
from kilnctl.interlocks.sensor_frozen import COARSEST_K, SensorFrozen
from kilnctl.interlocks.sensor_lost import SensorLost
from kilnctl.interlocks.sensor_moves import SensorMoves, SensorNoise
from kilnctl.interlocks.slow_drift import SlowDrift
from kilnctl.interlocks.stuck_on import HeatWithoutDemand, RisingWhileOff
from kilnctl.interlocks.supply import Supply
from kilnctl.interlocks.surroundings import ColdJunction, FanStopped, HotBox, LimitOpen, SignalLost, Smoke
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.interlocks.two_sensors import TwoSensors
from kilnctl.readings import Alarm, Trip

__all__ = [
    "INTERLOCKS",
    "Distance",
    "Interlock",
    "Thresholds",
    "build",
    "left_out",
    "not_checked",
    "nudging",
    "with_subject",
]

INTERLOCKS = (
    Smoke,
    Suspended,
    Stalled,
    LimitOpen,
    OverTemperature,
    Chatter,
    HeatWithoutDemand,
    BoardRestarts,
    ForeignTalk,
    LinkLost,
    SensorLost,
    SensorMoves,
    SensorNoise,
    SensorFrozen,
    SensorAnswer,
    TwoSensors,
    ColdJunction,
    EnergyBalance,
    SlowDrift,
    RisingWhileOff,
    OutputDisobeys,
    HeaterDead,
    NoProgress,
    CrossedOvens,
    OtherOven,
    DoorOpen,
    Supply,
    HotBox,
    FanStopped,
    SignalLost,
    ControlSwing,
    SupervisorMute,
    WallClockStepped,
)

# Causes that no interlock finds, beside those that they do.
LABELS = {
    "program_fault": "program",
    "off_not_read": "off",
    **{interlock.kind: interlock.label for interlock in INTERLOCKS},
}
# As they begin a sentence.
_SUBJECTS = {kind: f"{label[0].upper()}{label[1:]}" for kind, label in LABELS.items()}
Verdict = TypeVar("Verdict", Trip, Alarm)


def with_subject(verdict: Verdict) -> Verdict:
    """Return a verdict whose reason begins with what it speaks of: "Door: open for 123 s"."""
    subject = _SUBJECTS.get(verdict.kind)
    if subject is None:
        return verdict
    reason = f"{subject}: {verdict.reason}"
    if isinstance(verdict, Alarm):  # in every tick while it stands, and `replace` costs three times this
        return Alarm(verdict.kind, reason, verdict.at_s, verdict.priority)
    return replace(verdict, reason=reason)


def build(oven: Oven, thresholds: Thresholds) -> tuple[Interlock, ...]:
    """Return fresh interlocks for one run on one oven."""
    out = not_applied(oven)
    return tuple(kind(oven, thresholds) for kind in INTERLOCKS if kind.kind not in out)


def left_out(oven: Oven) -> tuple[tuple[str, str], ...]:
    """Return kind and label of each interlock that does not judge this oven."""
    out = not_applied(oven)
    return tuple((kind.kind, kind.label) for kind in INTERLOCKS if kind.kind in out)


def not_checked(oven: Oven, learned: bool) -> tuple[str, ...]:
    """Return, in sentences, what no interlock sees on this oven: its weaker wiring, and what is left out.

    `learned` says whether there is a model of the oven; without one nothing can tell how much heat is due.
    """
    said = list(oven.weaker)
    if not learned and "energy_balance" not in not_applied(oven):
        said.append("Energy balance is not checked: the oven has not been learned (`kilnctl tune`).")
    if oven.signal.process.step_k > COARSEST_K:
        said.append("A frozen sensor cannot be told from a steady one: its count is too coarse.")
    labels = ", ".join(label for _, label in left_out(oven))
    if labels:
        who = "instrument" if oven.output.heater.kind == "set-point" else "board"
        said.append(f"Not checked, because the {who} switches by itself: {labels}.")
    return tuple(said)


def not_applied(oven: Oven) -> tuple[str, ...]:
    """Return the interlocks that would judge an output which switches by itself by what was commanded."""
    match oven.output.heater.kind:
        case "duty":
            return ("chatter",)
        case "set-point":
            return (
                "chatter",
                "sensor_answer",
                "heat_without_demand",
                "energy_balance",
                "slow_drift",
                "output_disobeys",
                "heater_dead",
                "no_progress",
                "rising_while_off",
                "control_swing",
            )
    return ()


def nudging(interlocks: tuple[Interlock, ...]) -> SensorFrozen | None:
    """Return the interlock whose `dither` says which way the duty should be nudged, None without one."""
    return next((i for i in interlocks if isinstance(i, SensorFrozen)), None)
