"""The first guess of an oven that has not been learned: its build, and what its maker measured of it.

Plans, forecasts and rehearsals go by it. Watchdog and interlocks do not: what may be a slip of the pen must
not widen a limit.
"""

from dataclasses import replace

from kilnctl.config.oven import Measured, Oven
from kilnctl.errors import ConfigError
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import OvenModel, advance, at_rest, holding_duty, sensor_c

# Firebrick and fibre take about 1 kJ/(kg K) when they are hot (common practice, no single source).
LINING_J_PER_KG_K = 1000.0
# Such a measurement is good to about a tenth: a meter, a clock, another day's supply.
MEASURED_SD = 0.1
_STEP_S = 20.0
_LEAST, _MOST = 0.1, 50.0
_FAR = 0.5  # of the way to the oven's ceiling


def first_guess(oven: Oven) -> OvenModel:
    """Return the model of an oven that has not been learned.

    Raises ConfigError where what was measured does not go with the oven's power.
    """
    guess, told = nameplate(oven), oven.measured
    if told is None:
        return guess
    if told.lining_kg is not None:
        guess = replace(guess, wall=told.lining_kg * LINING_J_PER_KG_K / oven.power_w)
    if told.heats_to_c is not None and told.holds_with_w is not None:
        guess = _losing(guess, told.heats_to_c, told.holds_with_w / oven.power_w, oven.ambient_c)
    if told.heats_to_c is not None and told.takes_s is not None:
        guess = _taking(guess, told, told.heats_to_c, told.takes_s, oven)
    if is_timed(oven):
        n = len(guess.covariance)
        spread = tuple(tuple(MEASURED_SD**2 if i == j else 0.0 for j in range(n)) for i in range(n))
        guess = replace(guess, covariance=spread)
    return guess


def is_timed(oven: Oven) -> bool:
    """True where a heat-up far enough to say how the whole oven heats was timed; 200 °C of a kiln is not."""
    told, top_c = oven.measured, oven.tune_ceiling_c or oven.limit_c
    if told is None or told.takes_s is None or told.heats_to_c is None:
        return False
    return told.heats_to_c >= oven.ambient_c + _FAR * (top_c - oven.ambient_c)


def _losing(model: OvenModel, at_c: float, duty: float, ambient_c: float) -> OvenModel:
    """Return the model whose losses need `duty` to hold a temperature."""
    if duty >= 1.0:
        raise ConfigError(
            "measured: holds_with must be less than the oven's power, or it would never get there"
        )
    times = duty / holding_duty(model, at_c, ambient_c)
    return replace(model, wall_conductance=model.wall_conductance * times, leak=model.leak * times)


def _taking(model: OvenModel, told: Measured, to_c: float, takes_s: float, oven: Oven) -> OvenModel:
    """Return the model whose stores take as long to heat up as was measured, found by halving."""
    low, high = _LEAST, _MOST
    if _heats_s(_stored(model, low), told.heats_from_c, to_c, oven.ambient_c, takes_s) > takes_s:
        raise ConfigError(
            f"measured: {takes_s / 60:.0f} min to {to_c:.0f} C is more than {oven.power_w:.0f} W can do; "
            "check power, holds_with and takes"
        )
    while high / low > 1.002:
        middle = (low * high) ** 0.5
        late = _heats_s(_stored(model, middle), told.heats_from_c, to_c, oven.ambient_c, takes_s) > takes_s
        low, high = (low, middle) if late else (middle, high)
    return _stored(model, low)


def _stored(model: OvenModel, times: float) -> OvenModel:
    stores = {name: getattr(model, name) * times for name in ("element", "face", "wall", "load")}
    return replace(model, **stores)


def _heats_s(model: OvenModel, from_c: float, to_c: float, ambient_c: float, longest_s: float) -> float:
    """Return the seconds at full power, or a little more than `longest_s` at the most."""
    state, elapsed_s, before_c = at_rest(from_c, ambient_c), 0.0, from_c
    while sensor_c(state) < to_c and elapsed_s <= longest_s:
        before_c = sensor_c(state)
        state = advance(model, state, 1.0, ambient_c, _STEP_S)
        elapsed_s += _STEP_S
    now_c = sensor_c(state)
    return elapsed_s - (max(0.0, now_c - to_c) / (now_c - before_c) * _STEP_S if now_c > before_c else 0.0)
