"""Full-power heating and shut-door cooling of one modelled oven, from cold or from a soaked-through heat."""

from kilnctl.errors import ProfileError
from kilnctl.forecast.heat_simulation import STEP_S
from kilnctl.model import oven_model as ovens
from kilnctl.model.oven_model import OvenModel

_LONGEST_S = 100 * 3600.0


def full_power_s(model: OvenModel, from_c: float, to_c: float, ambient_c: float) -> float:
    """Return the seconds at full power from one reading of the sensor to another; also full-power seconds.

    Raises ProfileError where the losses eat the power first.
    """
    state, elapsed_s = ovens.at_rest(from_c, ambient_c), 0.0
    while ovens.sensor_c(state) < to_c:
        state = ovens.advance(model, state, 1.0, ambient_c, STEP_S)
        elapsed_s += STEP_S
        if elapsed_s > _LONGEST_S:
            raise ProfileError(f"this oven never reaches {to_c:.0f} C at full power")
    return elapsed_s


def shut_s(model: OvenModel, from_c: float, to_c: float, ambient_c: float) -> float:
    """Return the seconds from one reading to a lower one, heat off, door shut, soaked through before.

    Raises ProfileError where it is not reached in a hundred hours.
    """
    state, elapsed_s = ovens.at_rest(from_c, ambient_c), 0.0
    while ovens.sensor_c(state) > to_c:
        state = ovens.advance(model, state, 0.0, ambient_c, STEP_S)
        elapsed_s += STEP_S
        if elapsed_s > _LONGEST_S:
            raise ProfileError(f"this oven is not at {to_c:.0f} C after a hundred hours")
    return elapsed_s
