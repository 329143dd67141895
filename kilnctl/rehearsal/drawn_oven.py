"""A simulated oven from what was learned: drawn within the fit's uncertainty, in the simulator's own build.

The simulator is built otherwise than the fitted model (an air node, a shell that loses by convection and
radiation, an element whose resistance rises, no separate load), so even an oven that is drawn at the middle
of the fit is not the controller's own model: a rehearsal on it does not flatter the controller.
"""

import math
from dataclasses import dataclass, replace

from kilnctl.config.oven import Oven
from kilnctl.forecast.band import drawn
from kilnctl.model.oven_model import OvenModel, advance, at_rest, holding_duty
from simulator.oven import ovens
from simulator.oven.part import SIGMA
from simulator.oven.plant import Plant, PlantData
from simulator.oven.wall import Lining, WallData, shell_loss

# Steady heat of the wall is matched at this share of the way to the oven's ceiling.
_MATCHED_AT = 0.7
_STEP_S = 10.0
_LONGEST_S = 8 * 3600.0
_COMPARED_AT = 2 / 3
_TRIMS = 3
_LEAK_TIMES = 7.0
# SIGMA per (1000 K)^4, and the emissivity of the simulator's sheath.
_GLOW = SIGMA * 1e12
_SHEATH_EMISSIVITY = 0.8


@dataclass(frozen=True, slots=True)
class DrawnOven:
    """An oven for a rehearsal and how far it lies from the fit, over a straight heat-up and its cooling.

    `apart_k` is the rms distance in K between its curve and the fitted model's, `heating` the ratio of their
    times to two thirds of the way. `model` is the draw itself, before it took the simulator's shape.
    """

    plant: Plant
    model: OvenModel
    seed: int
    apart_k: float
    heating: float

    def words(self) -> str:
        """Say which draw it is and how far from the fit."""
        return (
            f"simulated oven: draw {self.seed} within the uncertainty of what was learned, on another day's "
            f"supply; over a heat-up {self.apart_k:.0f} K rms from the fit, {self.heating - 1.0:+.0%} in time"
        )


def draw_oven(oven: Oven, fitted: OvenModel, seed: int) -> DrawnOven:
    """Return the simulated oven of a draw; the same seed gives the same oven."""
    model = drawn(fitted, seed)
    data = _in_step(oven, model)
    fit, heated_s = _curve_of_model(oven, fitted)
    own = _curve_of_plant(Plant(data, oven.ambient_c), heated_s, len(fit))
    apart_k = math.sqrt(sum((a - b) ** 2 for a, b in zip(own, fit, strict=True)) / len(fit))
    goal_c = _compared_at_c(oven, fit)
    heating = _reached_s(own, goal_c) / _reached_s(fit, goal_c)
    return DrawnOven(Plant(data, oven.ambient_c), model, seed, apart_k, heating)


def _in_step(oven: Oven, model: OvenModel) -> PlantData:
    """Return the constants with the power trimmed until both heat up alike.

    The simulator's element loses 4 % of its power per 1000 K, which the model has folded into its unit.
    """
    data = plant_data(oven, model)
    curve, heated_s = _curve_of_model(oven, model)
    goal_c = _compared_at_c(oven, curve)
    for _ in range(_TRIMS):
        own = _curve_of_plant(Plant(data, oven.ambient_c), heated_s, len(curve))
        late = _reached_s(own, goal_c) / _reached_s(curve, goal_c)
        data = replace(data, power_w=data.power_w * min(max(late, 0.9), 1.1) ** 0.8)
    return data


def _compared_at_c(oven: Oven, curve: list[float]) -> float:
    return oven.ambient_c + _COMPARED_AT * (max(curve) - oven.ambient_c)


def plant_data(oven: Oven, model: OvenModel) -> PlantData:
    """Return the simulator's constants for a model's: full power becomes the file's watts."""
    base, power_w = ovens.oven_like(oven.typical, oven.power_w).data, oven.power_w
    exchange = model.element_linear * power_w
    leak = model.leak * power_w
    # Element to air and air to face in series make the linear exchange; their ratio is the model's warm air,
    # unless the leak, which the simulator takes from the air, would then chill it below the face.
    film_w = max(exchange / min(max(model.warm_air, 0.01), 0.9), _LEAK_TIMES * leak, 1.01 * exchange)
    return PlantData(
        power_w=power_w * model.power,
        supply_v=oven.supply_v or base.supply_v,
        element_capacity=model.element * power_w,
        element_area_m2=model.element_radiation * power_w / _GLOW,
        element_film=exchange * film_w / (film_w - exchange),
        air_capacity=base.air_capacity,
        face_m2=film_w / base.film,
        film=base.film,
        leak=leak,
        door_m2=base.door_m2,
        door_leak=base.door_leak,
        wall=_wall(oven, model),
        sheath=model.sheath_s * _sheath_film(model),
        sheath_film=_sheath_film(model),
        junction_s=model.junction_s,
        sight=model.sees_element,
        stem=0.0,
        still_share=base.still_share,
    )


def _sheath_film(model: OvenModel) -> float:
    return _SHEATH_EMISSIVITY * _GLOW / (250.0 * model.sheath_radiation)


def _wall(oven: Oven, model: OvenModel) -> WallData:
    """Return five nodes: the face with the load that is always in the oven, three layers, the shell.

    Conductivity 1 + gain T/1000; the shell's area lets it lose at one temperature what the model loses.
    """
    power_w, gain = oven.power_w, model.wall_gain / 1000.0
    each = model.wall * power_w / 15.0
    through = model.wall_conductance * power_w
    top_c = oven.tune_ceiling_c or oven.limit_c
    at_c = oven.ambient_c + _MATCHED_AT * (top_c - oven.ambient_c)
    lost_w = power_w * (
        holding_duty(model, at_c, oven.ambient_c) * model.power - model.leak * (at_c - oven.ambient_c)
    )
    shell_c = _shell_c(lost_w, through, gain, oven.ambient_c)
    return WallData(
        Lining((1.0, gain, 0.0), 1.0, 1.0),
        ((model.face + model.load) * power_w, each, 2 * each, 4 * each, 8 * each),
        (through * 30.0, through * 10.0, through * 5.0, through * 2.5),
        lost_w / shell_loss(shell_c, oven.ambient_c),
    )


def _shell_c(lost_w: float, through: float, gain: float, ambient_c: float) -> float:
    """Return the outermost layer's temperature where the model loses `lost_w` to the room."""
    # lost = 3.75 through (1 + gain/2 (s + a)) (s - a), solved for s.
    a, k = ambient_c, lost_w / (3.75 * through)
    return math.sqrt((1.0 + gain * a) ** 2 + 2.0 * gain * k) / gain - 1.0 / gain


def _curve_of_model(oven: Oven, model: OvenModel) -> tuple[list[float], float]:
    """Return a straight heat-up to the oven's ceiling and half as long a coast, and how long it heated."""
    state, curve, top_c = at_rest(oven.ambient_c), [oven.ambient_c], oven.tune_ceiling_c or oven.limit_c
    while curve[-1] < top_c and len(curve) * _STEP_S < _LONGEST_S:
        state = advance(model, state, 1.0, oven.ambient_c, _STEP_S)
        curve.append(state.junction_c)
    heated = len(curve) - 1
    for _ in range(heated // 2):
        state = advance(model, state, 0.0, oven.ambient_c, _STEP_S)
        curve.append(state.junction_c)
    return curve, heated * _STEP_S


def _curve_of_plant(plant: Plant, heated_s: float, points: int) -> list[float]:
    curve = [plant.sensor.junction_c]
    while len(curve) < points:
        plant.advance(1.0 if len(curve) * _STEP_S <= heated_s else 0.0, _STEP_S)
        curve.append(plant.sensor.junction_c)
    return curve


def _reached_s(curve: list[float], goal_c: float) -> float:
    """Return when a curve first reaches a temperature, to a fraction of a step; its whole length if never."""
    for i in range(1, len(curve)):
        if curve[i] >= goal_c:
            return (i - (curve[i] - goal_c) / (curve[i] - curve[i - 1])) * _STEP_S
    return len(curve) * _STEP_S
