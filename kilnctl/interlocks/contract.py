"""What an interlock is: it judges one observation a tick and says how far it is from its limit."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol

from kilnctl.readings import LIVE_A, Alarm, Observation, Scan, Trip

# A current sensor that shows more than this sees a live element; leakage of a relay is some milliampere.


@dataclass(frozen=True, slots=True)
class Distance:
    """How far from the limit. `near` goes from 0 (far) to 1 (trips); `note` says why it is blind."""

    value: float | None
    limit: float | None
    unit: str = ""
    near: float = 0.0
    note: str = ""


class Interlock(Protocol):
    """One thing that must never be. Its timers live in the instance; time comes with the observation.

    One that judges by what not every oven has says in `blind` that this one lacks it.
    """

    @property
    def kind(self) -> str:
        """Return the name by which records and files know it."""
        ...

    @property
    def label(self) -> str:
        """Return what a person reads."""
        ...

    def check(self, seen: Observation) -> Trip | Alarm | None:
        """Judge one observation. Called once a tick, also while nothing heats."""
        ...

    def distance(self) -> Distance:
        """Return the distance to the limit at the last check."""
        ...


def sighted(interlocks: Iterable[Interlock]) -> tuple[Interlock, ...]:
    """Return the interlocks that have something to judge by: the others can say nothing in any tick."""
    return tuple(interlock for interlock in interlocks if not getattr(interlock, "blind", False))


def near(value: float, limit: float) -> float:
    """Return value / limit, kept within 0..1."""
    return min(max(value / limit, 0.0), 1.0) if limit > 0.0 else 1.0


def hands_may_be_in(seen: Observation) -> bool:
    """Return whether a person may have opened the oven or its isolator, and no switch tells."""
    return seen.scan.door_open is None and seen.segment_kind == "operator"


def supply_power(scan: Scan, nominal_v: float | None) -> float | None:
    """Return the power of the mains as a share of the nominal, by its square; None where nobody measures."""
    reading = scan.supply_v
    if nominal_v is None or reading is None or reading.value is None:
        return None
    return (reading.value / nominal_v) ** 2


def live(scan: Scan) -> bool | None:
    """Return whether heater power really flows (contact or current sensor); None where none is fitted."""
    if scan.heater_live is not None:
        return scan.heater_live
    current = scan.current_a
    return None if current is None or current.value is None else current.value > LIVE_A
