"""How long was a heat dark? Two witnesses, the clocks and the oven's cooling, and they must agree."""

import math
from dataclasses import dataclass
from typing import NamedTuple

from kilnctl.logbook.readers import Curve
from kilnctl.model.filter import OvenFilter
from kilnctl.model.oven_model import OvenModel, OvenState, advance
from kilnctl.model.trust import Trust
from kilnctl.units import say_duration

# Two witnesses agree within this share of the longer one, or within this time.
AGREE_SHARE, AGREE_S = 0.30, 300.0
# Nearer to the room than this an oven no longer tells how long it has been cooling.
COLD_K = 15.0
# An oven that was off for longer than this says no more than that it was long.
LONGEST_S = 24 * 3600.0
# A brick furnace took 1.75 times as long as its heat-up predicted.
UNLEARNED = ", or it cools otherwise than its heat-up predicts (`kilnctl tune --cooling` learns that)"
_STEP_S = 5.0
_COAST_S = 10.0


class Now(NamedTuple):
    """The machine's clocks: unix time, seconds since it came up (suspend counted), and that start's name."""

    utc_s: float
    boot_s: float
    boot: str


class Then(NamedTuple):
    """The same three at the newest sample of the heat that broke off."""

    utc_s: float
    boot_s: float
    boot: str


@dataclass(frozen=True, slots=True)
class Outage:
    """The time without control in seconds of the heat, None where nobody can say; `why_unknown` in words.

    `trace` is the oven's course meanwhile, (seconds, degC) from the cut on; empty where nothing is known.
    """

    seconds: float | None
    by_clocks_s: float | None
    by_cooling_s: float | None
    why_unknown: str = ""
    trace: tuple[tuple[float, float], ...] = ()

    def line(self) -> str:
        """Return one line for a person."""
        if self.seconds is None:
            return f"how long it was interrupted is not known: {self.why_unknown}"
        cooling = "" if self.by_cooling_s is None else f", {say_duration(self.by_cooling_s)} by its cooling"
        return f"it was interrupted for {say_duration(self.seconds)} by the clocks{cooling}"


def by_clocks_s(then: Then, now: Now) -> float | None:
    """Return the outage in real seconds by the clocks, None where they contradict each other.

    Within one start of the machine its own clock counts, whatever was done to the wall clock. Across a
    start only the wall clock goes on; it must then show at least the time since that start.
    """
    if then.boot == now.boot and then.boot:
        passed_s = now.boot_s - then.boot_s
        return passed_s if passed_s >= 0.0 else None
    passed_s = now.utc_s - then.utc_s
    return passed_s if passed_s >= now.boot_s - 1.0 else None


def state_at_cut(curve: Curve, model: OvenModel, ambient_c: float) -> OvenState | None:
    """Return where the oven stood at the end of a recorded heat: the model led along the record."""
    columns = curve.columns()
    observer = OvenFilter(model, Trust())
    since_s, heat_s = 0.0, 0.0
    rows = zip(columns["elapsed_s"], columns["process_c"], columns["heat_on"], strict=True)
    state, before_s = None, 0.0
    for at_s, process_c, heat_on in rows:
        dt_s, before_s = float(at_s) - before_s, float(at_s)
        since_s += dt_s
        heat_s += dt_s if heat_on == 1 else 0.0
        if not math.isnan(process_c) and (state is None or since_s >= _STEP_S):
            share = heat_s / since_s if since_s > 0.0 else 0.0
            state = observer.step(float(process_c), share, ambient_c, since_s)
            since_s = heat_s = 0.0
    return state


def coast(
    model: OvenModel, state: OvenState, ambient_c: float, until_c: float
) -> tuple[tuple[float, float], ...]:
    """Return the course of an oven without heat from `state` down to `until_c`: (seconds, degC).

    The sensor may still rise after the cut; the way down counts. Ends after a day at the latest.
    """
    course, at_s, risen = [(0.0, state.junction_c)], 0.0, False
    while at_s < LONGEST_S:
        before_c = state.junction_c
        state = advance(model, state, 0.0, ambient_c, _COAST_S)
        at_s += _COAST_S
        risen = risen or state.junction_c <= before_c
        if risen and state.junction_c <= until_c:
            break
        course.append((at_s, state.junction_c))
    return (*course, (at_s, min(state.junction_c, until_c)))


def outage_of(
    clocks_s: float | None, curve: Curve, model: OvenModel, ambient_c: float, process_c: float
) -> Outage:
    """Return how long the oven was dark; `clocks_s` in seconds of the heat, `process_c` what it reads now.

    Unknown where the clocks contradict each other, where the oven has nearly reached the room's
    temperature, or where the two witnesses differ by more than 30 % and more than 5 min. The cooling is the
    learned one. Where only a heat-up was learned, which hardly enters the wall, it is a poor witness: then
    the part is credited with the shorter of the two times.
    """
    cooling = model.cools or model
    state = state_at_cut(curve, cooling, ambient_c)
    if state is None:
        return Outage(None, clocks_s, None, "the record has no good reading")
    if process_c - ambient_c < COLD_K:
        return Outage(None, clocks_s, None, "the oven is as cold as the room, so its cooling tells nothing")
    trace = coast(cooling, state, ambient_c, process_c)
    cooling_s = trace[-1][0]
    if clocks_s is None:
        return Outage(None, None, cooling_s, "the clock was changed, or is wrong")
    if abs(clocks_s - cooling_s) > max(AGREE_S, AGREE_SHARE * max(clocks_s, cooling_s)):
        said = f"{say_duration(clocks_s)} by the clocks, {say_duration(cooling_s)} by the oven's cooling"
        why = "the door, the load or a clock has changed" + ("" if model.cools is not None else UNLEARNED)
        return Outage(None, clocks_s, cooling_s, f"{said}; {why}")
    passed_s = clocks_s if model.cools is not None else min(clocks_s, cooling_s)
    return Outage(clocks_s, clocks_s, cooling_s, "", _stretched(trace, passed_s))


def _stretched(trace: tuple[tuple[float, float], ...], seconds: float) -> tuple[tuple[float, float], ...]:
    """Return the course with its ends at the cut and so many seconds later."""
    factor = seconds / trace[-1][0] if trace[-1][0] > 0.0 else 1.0
    return tuple((at_s * factor, at_c) for at_s, at_c in trace)
