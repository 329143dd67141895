"""A small physical model of one oven: element, chamber face, wall, load, and the sensor that sees them.

The unit of heat is full power for one second, so that no wattage has to be known: capacities are in
full-power seconds per kelvin, exchanges in fractions of full power per kelvin (linear part) or per
(1000 K)^4 (radiation). Heat flows by the textbook: Fourier in the wall, Stefan and Boltzmann between faces.
"""

import math
from collections.abc import Mapping
from dataclasses import asdict, fields
from typing import Any, NamedTuple

from kilnctl.model.surveyed import Surveyed
from kilnctl.values import value

_KELVIN = 273.15
# Four layers, each twice as thick as the one before: thin where the temperature moves fast.
_SHARES = (1 / 15, 2 / 15, 4 / 15, 8 / 15)
# Resistance from the face to the middle of layer 1, between the middles, from the middle of layer 4 outwards.
_RESISTANCES = (0.5 / 15, 1.5 / 15, 3 / 15, 6 / 15, 4 / 15)
_LONGEST_STEP_S = 20.0
# An oven whose learning heat showed more unexplained heat than this (share of full power) is not steered by
# its model: of a draught in gusts it makes a swing (7.7 K over at 218 degC; 4.0 by what the heat shows).
EXPLAINED = 0.32
# But where hardly any of it is left long after each switching (rms) the model only has the wrong build, and
# steers well: muffles show 0.01 to 0.04, draughts 0.09 to 0.22.
_CALM = 0.06


# How late a sensor is shows first in how long it takes to rise by so much from cold.
FIRST_K = 20.0

Nodes = tuple[float, float, float, float, float, float, float, float, float]


@value
class OvenState:
    """Temperatures in degC. `junction_c` is what the sensor reads; `nodes` are all nine in a row."""

    element_c: float
    face_c: float
    wall_1_c: float
    wall_2_c: float
    wall_3_c: float
    wall_4_c: float
    load_c: float
    sheath_c: float
    junction_c: float

    @property
    def nodes(self) -> Nodes:
        """Return the temperatures in the order of the fields."""
        walls = self.wall_1_c, self.wall_2_c, self.wall_3_c, self.wall_4_c
        return self.element_c, self.face_c, *walls, self.load_c, self.sheath_c, self.junction_c


class Usual(NamedTuple):
    """What a filter finds on the learning heat itself: the oven's own bias, not a change of it.

    Logarithms of sensor lag and heater power when full heat from cold has reached `at_c` (degC).
    """

    lag: float
    power: float
    at_c: float


class Coasted(NamedTuple):
    """One pause of the learning heat: cut at `at_c` (degC) the sensor rose on, its slope times `after_s`."""

    at_c: float
    after_s: float


@value
class OvenModel:
    """The constants of one oven (units: see the module).

    `wall_gain` is the rise of the wall's conductivity per 1000 degC. `sheath_s` is the sensor's lag by air
    alone, `sheath_radiation` how much radiation adds at 1000 K; `sees_element` the share of the element in
    the radiation that the sensor sees, `warm_air` how far the air at the sensor lies from face to element.
    `covariance` belongs to the logarithms of `PARAMETERS`; `residual_k` is the fit's rms, `noise_k` the
    sensor's. `usual` is None where an old fit lacks it. `bound` is another explanation of the same heat-up,
    nearly as good, that coasts furthest; None where there is none. `unexplained` is the most heat, as a
    share of full power, that the watchdog's eye could not explain on the learning heat; `restless` its
    rms long after the heat was switched, None where an old fit lacks it. `coasts` are the learning heat's
    own, coldest first, as no model draws them. `first_late_s` is how much later than the model the learning
    heat had risen by `FIRST_K`, None where an old fit lacks it. `second_gap_k` is the lowest and the highest
    that the second sensor read beside the first, None where none is wired. `soft_s` is how long the heater
    takes to full power each time, 0 where it is there at once. `cools` draws the heat-up and the whole
    cooling after it, down to `cooled_to_c`: forecasts cool by it; control
    does not know it. None where no cooling was recorded. `surveyed` is not learned but measured by hand.
    `misfit_k` is by how much (rms) a filter takes readings to err together when it looks for a change of the
    oven: what the fit misses beyond what is expected of a model this small; 0 where an old fit lacks it.
    """

    element: float
    face: float
    wall: float
    load: float
    element_radiation: float
    element_linear: float
    load_radiation: float
    load_linear: float
    wall_conductance: float
    wall_gain: float
    leak: float
    sheath_s: float
    sheath_radiation: float
    junction_s: float
    sees_element: float
    warm_air: float
    power: float = 1.0
    learned: bool = False
    residual_k: float = 0.0
    noise_k: float = 0.3
    covariance: tuple[tuple[float, ...], ...] = ()
    usual: Usual | None = None
    bound: "OvenModel | None" = None
    unexplained: float = 0.0
    restless: float | None = None
    coasts: tuple[Coasted, ...] = ()
    first_late_s: float | None = None
    second_gap_k: tuple[float, float] | None = None
    soft_s: float = 0.0
    cools: "OvenModel | None" = None
    cooled_to_c: float | None = None
    surveyed: tuple[Surveyed, ...] = ()
    misfit_k: float = 0.0

    def scaled(self, lag: float = 1.0, power: float = 1.0, load: float = 1.0) -> "OvenModel":
        """Return the oven with its sensor lag, heater power and load multiplied, without its `cools`."""
        # In the order of the fields: a filter asks every few seconds, and `replace` costs five times this.
        return OvenModel(
            self.element,
            self.face,
            self.wall,
            self.load * load,
            self.element_radiation,
            self.element_linear,
            self.load_radiation * load,
            self.load_linear * load,
            self.wall_conductance,
            self.wall_gain,
            self.leak,
            self.sheath_s * lag,
            self.sheath_radiation,
            self.junction_s * lag,
            self.sees_element,
            self.warm_air,
            self.power * power,
            self.learned,
            self.residual_k,
            self.noise_k,
            self.covariance,
            self.usual,
            self.bound,
            self.unexplained,
            self.restless,
            self.coasts,
            self.first_late_s,
            self.second_gap_k,
            self.soft_s,
            misfit_k=self.misfit_k,
        )

    @property
    def calm(self) -> bool:
        """True where nothing moved this oven from outside on its learning heat, as a draught does."""
        return self.restless is not None and self.restless < _CALM

    @property
    def steers(self) -> bool:
        """Return whether heats go by this model, or by what each of them shows."""
        return self.unexplained <= EXPLAINED or self.calm

    def to_dict(self) -> dict[str, Any]:
        """Return plain data for JSON."""
        return asdict(self)

    @staticmethod
    def from_dict(data: Mapping[str, Any]) -> "OvenModel":
        """Return the model that `to_dict` gave. Raises KeyError or TypeError for anything else."""
        known = {f.name for f in fields(OvenModel)}
        values = {name: value for name, value in data.items() if name in known}
        values["covariance"] = tuple(tuple(row) for row in data["covariance"])
        gap_k = data.get("second_gap_k")
        values["second_gap_k"] = (float(gap_k[0]), float(gap_k[1])) if gap_k else None
        values["usual"] = Usual(*data["usual"]) if data.get("usual") else None
        values["surveyed"] = tuple(Surveyed(*survey) for survey in data.get("surveyed", ()))
        values["coasts"] = tuple(Coasted(*coast) for coast in data.get("coasts", ()))
        for name in ("bound", "cools"):
            values[name] = OvenModel.from_dict(data[name]) if data.get(name) else None
        return OvenModel(**values)


# What a heat-up is fitted to; all positive, so the fit works on logarithms.
PARAMETERS = tuple(f.name for f in fields(OvenModel))[:16]


def at_rest(at_c: float, ambient_c: float | None = None) -> OvenState:
    """Return an oven at one temperature; with `ambient_c` its wall graded towards the room."""
    if ambient_c is None:
        return OvenState(*([at_c] * 9))
    depth, walls = 0.0, []
    for resistance in _RESISTANCES[:4]:
        depth += resistance
        walls.append(at_c + (ambient_c - at_c) * depth)
    return OvenState(at_c, at_c, walls[0], walls[1], walls[2], walls[3], at_c, at_c, at_c)


def sensor_lag_s(model: OvenModel, at_c: float) -> float:
    """Return the sensor's lag at a temperature in s: radiation shortens it."""
    radiation = model.sheath_radiation * ((at_c + _KELVIN) / 1000) ** 3
    return model.sheath_s / (1 + radiation) + model.junction_s


def sensor_c(state: OvenState) -> float:
    """Return what the sensor reads in degC."""
    return state.junction_c


def advance(  # noqa: PLR0915 - one elimination, read from top to bottom; pieces would cost twice the time
    model: OvenModel,
    state: OvenState,
    duty: float,
    ambient_c: float,
    dt_s: float,
    unknown: float = 0.0,
    draught_k: float = 0.0,
) -> OvenState:
    """Return the oven dt_s seconds later. `unknown` is heat into the chamber as a fraction of full power.

    `draught_k` is how much colder (negative) the air at the sensor is than the chamber makes it.

    One linearly implicit midpoint step (second order, stable for any length); steps longer than 20 s are
    divided. The equations form a tree, so elimination from its ends solves them exactly.
    """
    if dt_s > _LONGEST_STEP_S:
        pieces = math.ceil(dt_s / _LONGEST_STEP_S)
        for _ in range(pieces):
            state = advance(model, state, duty, ambient_c, dt_s / pieces, unknown, draught_k)
        return state
    element, face, load = state.element_c, state.face_c, state.load_c
    w1, w2, w3, w4 = state.wall_1_c, state.wall_2_c, state.wall_3_c, state.wall_4_c
    sheath, junction = state.sheath_c, state.junction_c
    # Every number with its point: a whole one is made a float anew in each operation, a twentieth of a step.
    half = dt_s / 2.0
    # Kilokelvin for radiation; slopes are derivatives of each exchange by its two temperatures.
    ke, kf, kl = (element + _KELVIN) / 1000.0, (face + _KELVIN) / 1000.0, (load + _KELVIN) / 1000.0
    ke3, kf3, kl3 = ke * ke * ke, kf * kf * kf, kl * kl * kl
    kf4 = kf3 * kf
    ke4_kf4 = ke3 * ke - kf4
    r, g = model.element_radiation, model.element_linear
    into_face = r * ke4_kf4 + g * (element - face)
    r = 0.004 * r  # not in place: a fit hands whole rows of constants in
    by_element, by_face = r * ke3 + g, r * kf3 + g
    r, g = model.load_radiation, model.load_linear
    into_load = r * (kf4 - kl3 * kl) + g * (face - load)
    r = 0.004 * r
    load_by_face, load_by_load = r * kf3 + g, r * kl3 + g
    g, gain = model.wall_conductance, model.wall_gain / 2000.0
    g01 = g * 30.0 * (1.0 + gain * (face + w1))
    g12 = g * 10.0 * (1.0 + gain * (w1 + w2))
    g23 = g * 5.0 * (1.0 + gain * (w2 + w3))
    g34 = g * 2.5 * (1.0 + gain * (w3 + w4))
    g4a = g * 3.75 * (1.0 + gain * (w4 + ambient_c))
    q1, q2, q3 = g01 * (face - w1), g12 * (w1 - w2), g23 * (w2 - w3)
    q4, q5 = g34 * (w3 - w4), g4a * (w4 - ambient_c)
    c = model.wall / 15.0
    # Wall from the outside in: change of a layer = a + b * change of the one before it.
    h12, h23, h34 = half * g12, half * g23, half * g34
    pivot = 8.0 * c + half * (g34 + g4a)
    a4, b4 = dt_s * (q4 - q5) / pivot, h34 / pivot
    pivot = 4.0 * c + half * (g23 + g34 * (1.0 - b4))
    a3, b3 = (dt_s * (q3 - q4) + h34 * a4) / pivot, h23 / pivot
    pivot = 2.0 * c + half * (g12 + g23 * (1.0 - b3))
    a2, b2 = (dt_s * (q2 - q3) + h23 * a3) / pivot, h12 / pivot
    pivot = c + half * (g01 + g12 * (1.0 - b2))
    a1, b1 = (dt_s * (q1 - q2) + h12 * a2) / pivot, half * g01 / pivot
    pivot = model.element + half * by_element
    ae, be = dt_s * (model.power * duty - into_face) / pivot, half * by_face / pivot
    pivot = model.load + half * load_by_load
    al, bl = dt_s * into_load / pivot, half * load_by_face / pivot
    leak = model.leak
    d_face = (
        dt_s * (into_face + unknown - into_load - q1 - leak * (face - ambient_c))
        + half * (by_element * ae + load_by_load * al + g01 * a1)
    ) / (
        model.face
        + half * (by_face - by_element * be + load_by_face - load_by_load * bl + g01 * (1.0 - b1) + leak)
    )
    d_element = ae + be * d_face
    d1 = a1 + b1 * d_face
    d2 = a2 + b2 * d1
    d3 = a3 + b3 * d2
    # The sensor takes no heat worth counting; it follows what it sees.
    share = model.warm_air
    air = face + share * (element - face)
    d_air = d_face + share * (d_element - d_face)
    share, r = model.sees_element, 250.0 * model.sheath_radiation
    ks = (sheath + _KELVIN) / 1000.0
    ks3 = ks * ks * ks
    glow = kf4 + share * ke4_kf4 - ks3 * ks
    d_glow = 0.004 * (kf3 * d_face + share * (ke3 * d_element - kf3 * d_face))
    change = air + draught_k - sheath + r * glow + (d_air + r * d_glow) / 2.0
    d_sheath = dt_s * change / (model.sheath_s + half * (1.0 + model.sheath_radiation * ks3))
    rate = 1.0 / model.junction_s
    d_junction = dt_s * rate * (sheath + d_sheath / 2.0 - junction) / (1.0 + half * rate)
    return OvenState(
        element + d_element,
        face + d_face,
        w1 + d1,
        w2 + d2,
        w3 + d3,
        w4 + a4 + b4 * d3,
        load + al + bl * d_face,
        sheath + d_sheath,
        junction + d_junction,
    )


def lost(model: OvenModel, state: OvenState, ambient_c: float) -> float:
    """Return the heat that leaves the chamber face into wall, load and room, in fractions of full power."""
    face, w1, load = state.face_c, state.wall_1_c, state.load_c
    kf, kl = (face + _KELVIN) / 1000, (load + _KELVIN) / 1000
    wall = model.wall_conductance * 30.0 * (1 + model.wall_gain / 2000 * (face + w1)) * (face - w1)
    into_load = model.load_radiation * (kf**4 - kl**4) + model.load_linear * (face - load)
    return wall + into_load + model.leak * (face - ambient_c)


def holding_duty(model: OvenModel, at_c: float, ambient_c: float) -> float:
    """Return the duty that holds a soaked-through oven at a temperature (may exceed 1: out of reach)."""
    outer, gain = ambient_c, model.wall_gain / 2000
    # Conductivity is linear in temperature, so its mean over the wall is that of the two ends.
    wall = model.wall_conductance * (1 + gain * (at_c + outer)) * (at_c - outer)
    return (wall + model.leak * (at_c - ambient_c)) / model.power
