"""Textbook controllers, each tuned by its own experiment on the very oven that it then heats.

Rules: Ziegler-Nichols closed loop .6 Ku, Pu/2, Pu/8; SIMC PI with series derivative L/3; AMIGO PID
(Ziegler and Nichols 1942; Skogestad 2003 and Grimholt and Skogestad 2013; Astrom and Hagglund 2004).
"""

import copy
import math
from dataclasses import dataclass

from kilnctl.control.heat_controller import ControlInput
from simulator.oven.plant import Plant
from tests.bench.control.world import Duty


@dataclass(frozen=True)
class Rule:
    """Ideal-form PID: duty per kelvin, integral and derivative time in seconds."""

    gain: float
    integral_s: float
    derivative_s: float


def held(plant: Plant, goal_c: float) -> tuple[Plant, float]:
    """Return the oven held for two hours by a patient noise-free PI, and the duty it needs."""
    plant, integral, used = copy.deepcopy(plant), 0.0, []
    at = 0
    while True:
        error_k = goal_c - plant.sensor.junction_c
        if error_k < 100.0:
            integral = min(max(integral + 2e-5 * error_k, 0.0), 1.0)
        if abs(error_k) < 5.0:
            at += 1
        duty = min(max(0.01 * error_k + integral, 0.0), 1.0)
        plant.advance(duty, 1.0)
        used.append(duty)
        if at > 7200:
            return plant, sum(used[-600:]) / 600


def swing(plant: Plant, goal_c: float, duty: float) -> tuple[float, float]:
    """Return ultimate gain and period from a relay experiment around the holding duty (Ku = 4d/pi a)."""
    plant, reach = copy.deepcopy(plant), min(duty, 1.0 - duty, 0.3)
    on, ups, peaks, lows, high, low = True, [], [], [], -1e9, 1e9
    for at in range(40_000):
        error_k = goal_c - plant.sensor.junction_c
        if on and error_k < -0.2:
            on = False
            lows.append(low)
            low = 1e9
        elif not on and error_k > 0.2:
            on = True
            ups.append(at)
            peaks.append(high)
            high = -1e9
        high, low = max(high, plant.sensor.junction_c), min(low, plant.sensor.junction_c)
        plant.advance(duty + (reach if on else -reach), 1.0)
        if len(ups) >= 6:
            break
    half_k = (sum(peaks[-3:]) / 3 - sum(lows[-3:]) / 3) / 2
    return 4 * reach / (math.pi * math.sqrt(max(half_k**2 - 0.04, 1e-4))), (ups[-1] - ups[-4]) / 3


def step_test(plant: Plant, duty: float) -> tuple[float, float, float]:
    """Return K (kelvin per duty), T and L in s of a first-order model with dead time (28/63 %, 90 min)."""
    calm, stepped, rise = copy.deepcopy(plant), copy.deepcopy(plant), []
    for _ in range(5400):
        calm.advance(duty, 1.0)
        stepped.advance(min(duty + 0.05, 1.0), 1.0)
        rise.append(stepped.sensor.junction_c - calm.sensor.junction_c)
    final = rise[-1]
    t28 = next(i for i, y in enumerate(rise) if y >= 0.283 * final)
    t63 = next(i for i, y in enumerate(rise) if y >= 0.632 * final)
    time_s = 1.5 * (t63 - t28)
    return final / 0.05, time_s, max(t63 - time_s, 5.0)


def zn(ku: float, pu: float) -> Rule:
    """Return the closed-loop Ziegler-Nichols PID."""
    return Rule(0.6 * ku, pu / 2, pu / 8)


def simc(k: float, t: float, late: float) -> Rule:
    """Return the SIMC PI with tc = L and derivative L/3 in series, turned into the ideal form."""
    gain, ti, td = t / (k * 2 * late), min(t, 8 * late), late / 3
    share = 1 + td / ti
    return Rule(gain * share, ti * share, td / share)


def amigo(k: float, t: float, late: float) -> Rule:
    """Return the AMIGO PID."""
    return Rule(
        (0.2 + 0.45 * t / late) / k,
        late * (0.4 * late + 0.8 * t) / (late + 0.1 * t),
        0.5 * late * t / (0.3 * late + t),
    )


def pid(rule: Rule, conditional: bool) -> Duty:
    """Return a PID with derivative on a filtered measurement; integral clamped, or conditional."""
    integral, smooth = 0.0, None

    def step(look: ControlInput) -> tuple[float, str, str, None, None]:
        nonlocal integral, smooth
        if not look.heat_wanted or look.setpoint_c is None:
            return 0.0, "off", "", None, None
        error_k = look.setpoint_c - look.process_c
        before = look.process_c if smooth is None else smooth
        smooth = before + (look.process_c - before) * min(1.0, 8.0 / max(rule.derivative_s, 8.0))
        raw = rule.gain * (error_k - rule.derivative_s * (smooth - before)) + integral
        winding = (raw > 1.0 and error_k > 0) or (raw < 0.0 and error_k < 0)
        if not (conditional and winding):
            integral = min(max(integral + rule.gain / rule.integral_s * error_k, 0.0), 1.0)
        return min(max(raw, 0.0), 1.0), "pid", "", None, None

    return step


def on_off(hysteresis_k: float = 2.0) -> Duty:
    """Return a thermostat."""
    on = False

    def step(look: ControlInput) -> tuple[float, str, str, None, None]:
        nonlocal on
        if look.setpoint_c is None:
            return 0.0, "off", "", None, None
        if look.process_c > look.setpoint_c + hysteresis_k / 2:
            on = False
        elif look.process_c < look.setpoint_c - hysteresis_k / 2:
            on = True
        return float(on and look.heat_wanted), "on/off", "", None, None

    return step
