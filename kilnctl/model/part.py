"""The part in the oven: a slab that takes heat by radiation and convection.

Lumped (one temperature) where the Biot number is below 0.1, else one-dimensional. Estimates, not
measurements: emissivity and air movement are typical values, so arrival times are good to about a fifth.
"""

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from kilnctl.errors import ProfileError
from kilnctl.model.steel_heat import DENSITY_KG_PER_M3, EN_CARBON_STEEL, SteelHeat, conductivity_w_per_m_k
from kilnctl.profile.segments import Operator, Profile
from kilnctl.values import value

STEFAN_BOLTZMANN = 5.670374419e-8
BIOT_LUMPED = 0.1
_KELVIN = 273.15
_LAYERS = 7
# Properties are taken at the start of a step; over longer ones the specific heat would change too much.
_LONGEST_LAYER_STEP_S = 10.0
Surface = Literal["bare", "bright", "coated", "foil"]
Shape = Literal["plate", "square", "round"]
Faces = Literal["both", "one"]
# Way of the heat as a share of the size: heat goes in over the surface of a volume, so a long bar counts as a
# slab of the same volume to surface (textbook rule for one temperature throughout). "one": on a hearth.
_WAYS: dict[Faces, dict[Shape, float]] = {
    "both": {"plate": 1 / 2, "square": 1 / 4, "round": 1 / 4},
    "one": {"plate": 1.0, "square": 1 / 3},
}
# Emissivity and still-air film in W/(m2 K). Thermography tables: oxidised steel 0.8, polished 0.14-0.38.
_SURFACES: dict[str, tuple[float, float]] = {
    "bare": (0.8, 10.0),
    "bright": (0.3, 10.0),
    "coated": (0.8, 10.0),
    "foil": (0.3, 5.0),
}
_FAN_FILM = 25.0


@dataclass(frozen=True, slots=True)
class PartModel:
    """One slab. `depth_m` is the way heat has to go: half the thickness, or all of it on a hearth."""

    depth_m: float
    emissivity: float
    film_w_per_m2_k: float
    layers: int = 1
    heat: SteelHeat = EN_CARBON_STEEL


@value
class PartState:
    """Where the part stands. `core_c` is its coldest place on heating, `surface_c` its skin.

    `content` is the heat in each layer in J/kg above 20 degC, from the skin inwards.
    """

    core_c: float
    surface_c: float
    content: tuple[float, ...]


def slab(
    thickness_mm: float,
    surface: Surface = "bare",
    faces: Faces = "both",
    fan: bool = False,
    peak_c: float = 1100.0,
    heat: SteelHeat = EN_CARBON_STEEL,
) -> PartModel:
    """Return the model of a part; layers are used where the Biot number at `peak_c` reaches 0.1."""
    emissivity, film = _SURFACES[surface]
    film = _FAN_FILM if fan else film
    depth_m = thickness_mm / 1000.0 / (2 if faces == "both" else 1)
    layers = 1 if biot(depth_m, emissivity, film, peak_c) < BIOT_LUMPED else _LAYERS
    return PartModel(depth_m, emissivity, film, layers, heat)


def as_slab_mm(size_mm: float, shape: Shape, faces: Faces = "both") -> float:
    """Return how thick a slab, heated from both faces, is as quick as a long part of a shape.

    `size_mm` is a plate's thickness, a square's side, a round's diameter. Raises ProfileError for a round
    that lies on a face.
    """
    ways = _WAYS[faces]
    if shape not in ways:
        raise ProfileError("a round touches the hearth along a line only: all its faces take heat")
    return 2.0 * ways[shape] * size_mm


def part_of(profile: Profile) -> PartModel | None:
    """Return the model of a profile's part, or None where the profile does not say its section."""
    if profile.section_mm is None:
        return None
    thick_mm = as_slab_mm(profile.section_mm, profile.shape, profile.faces)
    return slab(thick_mm, profile.surface, "both", profile.fan, profile.peak_c)


def inside(profile: Profile, segment: int) -> bool:
    """True where the part is in the oven in a segment: not before a hot load, not while it cools outside.

    A quench takes the part out, unless other blades of the same soak still wait for theirs.
    """
    steps = [(n, s.step) for n, s in enumerate(profile.segments) if isinstance(s, Operator)]
    within = not steps or steps[0][1] != "load"
    for n, step in steps:
        if n >= segment:
            break
        if step == "load":
            within = True
        elif step in ("air cool", "unload", "cold"):
            within = False
        elif step == "quench":
            within = any(later == "quench" for m, later in steps if m > n)
    return within


def biot(depth_m: float, emissivity: float, film_w_per_m2_k: float, at_c: float) -> float:
    """Return the Biot number, h d / k, radiation as 4 e s T^3 (textbook rule: lumped below 0.1)."""
    radiation = 4.0 * emissivity * STEFAN_BOLTZMANN * (at_c + _KELVIN) ** 3
    return (radiation + film_w_per_m2_k) * depth_m / conductivity_w_per_m_k(at_c)


def start(model: PartModel, at_c: float) -> PartState:
    """Return a part at one temperature throughout."""
    return PartState(at_c, at_c, (model.heat.content(at_c),) * model.layers)


def advance(model: PartModel, state: PartState, chamber_c: float, dt_s: float) -> PartState:
    """Return the part after `dt_s` in a chamber (or in still air) at `chamber_c`. Stable for any step."""
    if model.layers == 1:
        return _advance_lumped(model, state, chamber_c, dt_s)
    pieces = math.ceil(dt_s / _LONGEST_LAYER_STEP_S)
    for _ in range(pieces):
        state = _advance_layers(model, state, chamber_c, dt_s / pieces)
    return state


def _exchange(model: PartModel, surface_c: float, chamber_c: float) -> float:
    """Return heat transfer to the skin in W/(m2 K), radiation as a film: eps sigma (a2 + b2)(a + b)."""
    hot, cold = chamber_c + _KELVIN, surface_c + _KELVIN
    radiation = model.emissivity * STEFAN_BOLTZMANN * (hot * hot + cold * cold) * (hot + cold)
    return radiation + model.film_w_per_m2_k


def _advance_lumped(model: PartModel, state: PartState, chamber_c: float, dt_s: float) -> PartState:
    heat, core_c = model.heat, state.core_c
    exchange = _exchange(model, state.surface_c, chamber_c)
    mass = DENSITY_KG_PER_M3 * model.depth_m
    x = exchange * dt_s / (mass * heat.capacity(core_c))
    damped_s = dt_s if x < 1e-9 else -math.expm1(-x) / x * dt_s
    content = state.content[0] + exchange * (chamber_c - core_c) * damped_s / mass
    at_c = heat.temperature(content)
    if (at_c - chamber_c) * (core_c - chamber_c) < 0.0:
        # The specific heat fell within a very long step: the part is in balance with the chamber.
        return start(model, chamber_c)
    return PartState(at_c, at_c, (content,))


def _advance_layers(model: PartModel, state: PartState, chamber_c: float, dt_s: float) -> PartState:
    """Implicit conduction between layers, explicit in the properties; the heat balance closes exactly."""
    heat, layers = model.heat, model.layers
    old = [heat.temperature(content) for content in state.content]
    width = model.depth_m / layers
    mass = DENSITY_KG_PER_M3 * width
    bonds = [conductivity_w_per_m_k((a + b) / 2) / width for a, b in pairwise(old)]
    bonds.append(0.0)
    # The skin is half a layer outside the first node: film and half layer in series.
    exchange = _exchange(model, state.surface_c, chamber_c)
    half = 2.0 * conductivity_w_per_m_k(old[0]) / width
    through = exchange * half / (exchange + half)
    stores = [mass * heat.capacity(t) / dt_s for t in old]
    new = _solve_tridiagonal(stores, bonds, old, through, chamber_c)
    entering = through * (chamber_c - new[0])
    contents = []
    for i, content in enumerate(state.content):
        leaving = bonds[i] * (new[i] - new[i + 1]) if i + 1 < layers else 0.0
        contents.append(content + (entering - leaving) * dt_s / mass)
        entering = leaving
    outer_c = heat.temperature(contents[0])
    skin_c = (exchange * chamber_c + half * outer_c) / (exchange + half)
    return PartState(heat.temperature(contents[-1]), skin_c, tuple(contents))


def _solve_tridiagonal(
    stores: list[float], bonds: list[float], old: list[float], through: float, drive_c: float
) -> list[float]:
    """Return layer temperatures after one implicit step (Thomas algorithm)."""
    upper: list[float] = []
    right: list[float] = []
    inward = through
    for i, (store, bond, t) in enumerate(zip(stores, bonds, old, strict=True)):
        source = store * t + (through * drive_c if i == 0 else bonds[i - 1] * right[-1])
        pivot = store + bond + (inward if i == 0 else inward - bonds[i - 1] * upper[-1])
        upper.append(bond / pivot)
        right.append(source / pivot)
        inward = bond
    new = [right[-1]]
    for u, r in zip(reversed(upper[:-1]), reversed(right[:-1]), strict=True):
        new.append(r + u * new[-1])
    return new[::-1]
