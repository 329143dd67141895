"""PID settings: from the oven file's zones, or computed from the oven model where the file has none."""

from kilnctl.config.oven import Oven
from kilnctl.control.pid import Gains
from kilnctl.errors import RunRefused
from kilnctl.model.oven_model import OvenModel, OvenState, advance, holding_duty
from kilnctl.units import say_point

_STEP_DUTY = 0.1
_DT_S = 2.0
# SIMC's closed-loop time as a multiple of the apparent dead time: 1 is its tight end, 2 smooth.
_GENTLE = 2.0
# Gains of the oven file above this share of the gain at which the loop would swing for ever are refused.
_REFUSED_SHARE = 0.7
# Of an oven that is not learned the nameplate says that gain within a factor of two or three.
_GUESSED_SHARE = 1.5


def settled(model: OvenModel, at_c: float, ambient_c: float) -> OvenState:
    """Return the oven held at a temperature for an hour: face and sensor settled, the wall nearly so."""
    w1, w2, w3, w4 = (at_c + (ambient_c - at_c) * depth for depth in (1 / 30, 2 / 15, 1 / 3, 11 / 15))
    element_c, duty = at_c, holding_duty(model, at_c, ambient_c)
    for _ in range(240):
        # Whatever the step would make of face, load and sensor: they are held.
        held = OvenState(element_c, at_c, w1, w2, w3, w4, at_c, at_c, at_c)
        moved = advance(model, held, duty, ambient_c, 10.0)
        element_c, w1, w2 = moved.element_c, moved.wall_1_c, moved.wall_2_c
        w3, w4 = moved.wall_3_c, moved.wall_4_c
    return OvenState(element_c, at_c, w1, w2, w3, w4, at_c, at_c, at_c)


def tangent(model: OvenModel, at_c: float, ambient_c: float) -> tuple[float, float]:
    """Return rate of rise in K/s per unit of duty and apparent dead time in s, near a temperature.

    From the steepest tangent of the model's own answer to a small step of heat; what the furnace does
    after that is slow, so a rate and a dead time describe it (integrating process).
    """
    calm = stepped = settled(model, at_c, ambient_c)
    base = min(holding_duty(model, at_c, ambient_c), 0.9)
    last_k, best, delay_s, t_s = 0.0, 0.0, 0.0, 0.0
    while t_s < 1800.0:
        calm = advance(model, calm, base, ambient_c, _DT_S)
        stepped = advance(model, stepped, base + _STEP_DUTY, ambient_c, _DT_S)
        t_s += _DT_S
        rise_k = stepped.junction_c - calm.junction_c
        slope = (rise_k - last_k) / _DT_S
        last_k = rise_k
        if slope > best:
            best, delay_s = slope, t_s - rise_k / slope
        elif slope < 0.8 * best:
            break
    return best / _STEP_DUTY, max(delay_s, _DT_S)


def simc(rate_k_per_s: float, delay_s: float, closed_s: float) -> Gains:
    """Return SIMC PI settings of an integrating process (Skogestad 2003, from memory)."""
    return Gains(1.0 / (rate_k_per_s * (closed_s + delay_s)), 4.0 * (closed_s + delay_s))


def largest_gain(rate_k_per_s: float, delay_s: float) -> float:
    """Return the gain at which an integrator with dead time swings for ever: pi/2/(k L) (textbook)."""
    return 1.5708 / (rate_k_per_s * delay_s)


class Schedule:
    """Gains against temperature. Computes a zone of the model once and keeps it."""

    def __init__(self, oven: Oven, model: OvenModel) -> None:
        self._oven, self._model = oven, model
        self._zones = tuple(sorted(oven.zone, key=lambda z: z.up_to_c))
        self._computed: dict[int, Gains] = {}

    def at(self, temperature_c: float) -> Gains:
        """Return the settings at a temperature; above the last zone the last zone's."""
        if not self._zones:
            return self._compute(temperature_c)
        zone = next((z for z in self._zones if temperature_c <= z.up_to_c), self._zones[-1])
        return Gains(zone.duty_per_k, zone.integral_s, zone.derivative_s)

    def _compute(self, temperature_c: float) -> Gains:
        key = round(temperature_c / 50.0)
        if key not in self._computed:
            rate, delay_s = tangent(self._model, key * 50.0, self._oven.ambient_c)
            window_s = self._oven.switching.window_s
            delay_s += window_s / 2
            self._computed[key] = simc(rate, delay_s, _GENTLE * delay_s)
        return self._computed[key]


def refuse_wild_gains(oven: Oven, model: OvenModel, learned: bool) -> None:
    """Refuse gains in the oven file that this oven cannot bear by its model. Raises RunRefused."""
    share = _REFUSED_SHARE if learned else _GUESSED_SHARE
    low_c = oven.ambient_c + 50.0
    for zone in sorted(oven.zone, key=lambda z: z.up_to_c):
        at_c = (low_c + min(zone.up_to_c, oven.limit_c)) / 2
        rate, delay_s = tangent(model, at_c, oven.ambient_c)
        bearable = share * largest_gain(rate, delay_s)
        if zone.duty_per_k > bearable:
            raise RunRefused(
                f"oven file: the zone up to {say_point(zone.up_to_c)} has a gain of {zone.duty_per_k:g} duty "
                f"per kelvin; this oven would swing. Write {bearable:.2g} or less, or remove the zones"
            )
        low_c = zone.up_to_c
