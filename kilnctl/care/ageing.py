"""Element ageing: full power takes longer and longer, until one day the oven no longer gets there.

One thermal mass, loss proportional to the temperature difference: good for comparing an oven with itself.
"""

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from kilnctl.errors import ConfigError
from kilnctl.logbook.readers import Curve, Reader

FULL_DUTY = 0.98
HELD_S = 600.0
# Common practice, no single source: watch from 8 %, half gone means a dead element. Between 15 and 40 %
# low mains are as likely as a worn element, and only a voltmeter tells them apart.
WORN, ASK_VOLTS, DEAD = 0.08, 0.15, 0.40


@dataclass(frozen=True, slots=True)
class Body:
    """Heat capacity in J/K, loss in W/K, surroundings in degC."""

    capacity_j_per_k: float
    loss_w_per_k: float
    ambient_c: float = 20.0


def full_power_s(body: Body, power_w: float, from_c: float, to_c: float) -> float:
    """Return the seconds that full power takes from one temperature to another.

    t = -tau ln((P - UA d2) / (P - UA d1)), tau = C / UA: the energy balance of one mass, solved.
    Raises ConfigError when `to_c` is out of reach.
    """
    rest1 = power_w - body.loss_w_per_k * (from_c - body.ambient_c)
    rest2 = power_w - body.loss_w_per_k * (to_c - body.ambient_c)
    if rest2 <= 0.0:
        raise ConfigError(
            f"{power_w:.0f} W never reach {to_c:g} C: the ceiling is {ceiling_c(body, power_w):.0f} C"
        )
    return body.capacity_j_per_k / body.loss_w_per_k * math.log(rest1 / rest2)


def ceiling_c(body: Body, power_w: float) -> float:
    """Return the temperature at which the losses eat all the power, degC."""
    return body.ambient_c + power_w / body.loss_w_per_k


def power_w(body: Body, took_s: float, from_c: float, to_c: float) -> float:
    """Return the power that explains a full-power time: that energy balance, solved for P. `took_s` > 0."""
    ratio = math.exp(took_s * body.loss_w_per_k / body.capacity_j_per_k)
    low_k, high_k = from_c - body.ambient_c, to_c - body.ambient_c
    return body.loss_w_per_k * (ratio * high_k - low_k) / (ratio - 1.0)


def body_of(
    power: float, hold_duty: float, hold_c: float, took_s: float, from_c: float, to_c: float, ambient_c: float
) -> Body:
    """Return the body that explains a healthy run: the duty that held a temperature, and a full-power time.

    Loss from power * duty = UA (T - ambient), capacity from the full-power formula. Raises ConfigError when
    the loss would not let the oven reach `to_c`.
    """
    loss = power * hold_duty / (hold_c - ambient_c)
    unit_s = full_power_s(Body(1.0, loss, ambient_c), power, from_c, to_c)
    return Body(took_s / unit_s, loss, ambient_c)


def judge(power: float, healthy: float, volts: float | None = None, usual_volts: float | None = None) -> str:
    """Say what a fitted power means beside the healthy one (W); given volts, mains are allowed for."""
    known_volts = volts is not None and usual_volts is not None
    if volts is not None and usual_volts is not None:
        power *= (usual_volts / volts) ** 2
    lost = 1.0 - power / healthy
    said = f"heating power {power:.0f} W, {-lost * 100:+.1f} % of {healthy:.0f} W"
    if lost >= DEAD:
        return f"{said}: fault, an element or a phase is dead"
    if lost >= ASK_VOLTS and not known_volts:
        return f"{said}: measure the supply voltage first, then judge the element"
    if lost >= WORN:
        return f"{said}: plan a replacement of the element"
    return f"{said}: as it should be"


def measured_s(curve: Curve, from_c: float, to_c: float) -> float | None:
    """Return the seconds a run took between two temperatures; None unless all of it was at full power."""
    at_s, process_c, duty = (curve.column(name) for name in ("elapsed_s", "process_c", "duty"))
    above_from, above_to = np.flatnonzero(process_c >= from_c), np.flatnonzero(process_c >= to_c)
    if len(above_from) == 0 or len(above_to) == 0 or above_from[0] == 0:
        return None
    start, stop = int(above_from[0]), int(above_to[0])
    if not np.all(duty[start:stop] >= FULL_DUTY):
        return None
    return float(at_s[stop] - at_s[start])


def held_duty(curve: Curve) -> tuple[float, float] | None:
    """Return (degC, mean duty) of the last ten minutes of a set-point that stood still, or None."""
    at_s, setpoint_c, duty = (curve.column(name) for name in ("elapsed_s", "setpoint_c", "duty"))
    same = np.flatnonzero(np.diff(setpoint_c) != 0.0) + 1
    edges = np.concatenate(([0], same, [len(at_s)])).astype(int)
    for start, stop in reversed(list(pairwise(edges))):
        if stop - start > 1 and at_s[stop - 1] - at_s[start] >= HELD_S and not np.isnan(setpoint_c[start]):
            last = at_s[start:stop] >= at_s[stop - 1] - HELD_S
            return float(setpoint_c[start]), float(np.nanmean(duty[start:stop][last]))
    return None


def history(reader: Reader, oven: str, from_c: float, to_c: float) -> list[tuple[int, float]]:
    """Return (run, seconds) of every run of an oven that went between two temperatures at full power."""
    hot = [r.run for r in reversed(reader.runs(oven=oven)) if r.peak_c is not None and r.peak_c >= to_c]
    found = [(run, measured_s(reader.curve(run), from_c, to_c)) for run in hot]
    return [(run, took_s) for run, took_s in found if took_s is not None]
