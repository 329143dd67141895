"""The curve that a heat will draw, with a band: the fitted model, and others as likely by what is known.

Others are drawn from a normal distribution with the covariance of the fit (textbook).
"""

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, replace

from kilnctl.forecast.heat_simulation import LONGEST_S, STEP_S, HeatSimulation, SimulatedState, resting
from kilnctl.model.maker_constants import MEASURED_SD
from kilnctl.model.oven_model import PARAMETERS, OvenModel, advance, at_rest
from kilnctl.profile.segments import Profile, Ramp

_DRAWS = 6
# A curve that is handed on has so many points at most, near enough.
POINTS = 240
# A draw moves no constant by more than two standard deviations, nor by more than a factor of four.
_SDS = 2.0
_LOG = 1.4
# The supply of another day: heater power within 6 % (volts within 3 %; common practice, no single source).
_DAY_SD = 0.03
# What ovens of the simulator took beside their forecast (RESULTS.md): cooling by a heat-up's fit, and whole
# heats by a nameplate, of five builds.
_SLOWEST_COOLING = 2.4
_NAMEPLATE_PACES = (0.7, 4.0)
# What ovens took whose full heat-up was timed and written down as [measured] (RESULTS.md): heating 0.92 to
# 1.19 of their forecast, cooling 0.70 to 1.73.
_TIMED_PACES, _TIMED_COOLINGS = (0.85, 1.3), (0.65, 2.0)
# No end is foreseen closer than this: how a heat comes to its goal, in 20 s steps and without its control.
_OWN_SHARE, _OWN_S = 0.02, 60.0
# Nor, of an oven that is not learned, than its control is from the one foreseen: slow sensors come late.
_GUESSED_SHARE = 0.05
# Such an oven is heated in pulses with a look at each: of eight ovens to 218 degC none came later by more.
_CREEPS_S = 900.0
_WARM_C, _WARM_STEP_S = 220.0, 10.0
_EARLIEST_S, _STANDS_K = 3600.0, 1e-4  # after it, so little in a step brings nothing any more
_TRIMS, _CLOSE, _DAMPED = 20, 0.005, 0.8


@dataclass(frozen=True, slots=True)
class ForecastPoint:
    """One point of the curve: seconds from the start, temperature in degC, and the band around it."""

    at_s: float
    process_c: float
    low_c: float
    high_c: float


@dataclass(frozen=True, slots=True)
class End:
    """When a segment will be over, in s from the start: middle, earliest, latest (None: maybe never)."""

    segment: int
    at_s: float
    early_s: float
    late_s: float | None


@dataclass(frozen=True, slots=True)
class Forecast:
    """A heat as the model foresees it; segments that it cannot finish within four days have no end."""

    points: tuple[ForecastPoint, ...]
    ends: tuple[End, ...]


def drawn(model: OvenModel, seed: int) -> OvenModel:
    """Return an oven that the fit holds as likely as the model itself, on another day; never exactly it.

    The covariance moves the constants against each other, which moves heat between parts of the oven. What
    it says of the sum holds for small moves only (a constant halved and another doubled is more oven, not
    the same), and the sum is what a heat-up shows best: so the time to warm up is kept, but for the day's
    supply.
    """
    if not model.covariance:
        return model
    import numpy as np  # only an oven that has been learned has a band

    spread = np.array(model.covariance)
    values, vectors = np.linalg.eigh((spread + spread.T) / 2)
    dice = random.Random(seed)
    steps = [min(max(dice.gauss(0.0, 1.0), -_SDS), _SDS) for _ in values]
    logs = vectors @ (np.sqrt(np.maximum(values, 0.0)) * np.array(steps))
    factors = np.exp(np.clip(logs, -_LOG, _LOG)).tolist()
    shape = replace(
        model, **{name: getattr(model, name) * f for name, f in zip(PARAMETERS, factors, strict=True)}
    )
    day = math.exp(_DAY_SD * min(max(dice.gauss(0.0, 1.0), -_SDS), _SDS))
    cools = None if model.cools is None else drawn(model.cools, seed)
    return replace(_as_quick(shape, _warm_up_s(model)).scaled(power=day), cools=cools)


def _as_quick(model: OvenModel, wanted_s: float) -> OvenModel:
    """Return the oven with so much power that it warms up in that time, to half a percent."""
    for _ in range(_TRIMS):
        ratio = _warm_up_s(model) / wanted_s
        if abs(ratio - 1.0) < _CLOSE:
            break
        model = model.scaled(power=min(max(ratio, 0.5), 2.0) ** _DAMPED)
    return model


def _warm_up_s(model: OvenModel) -> float:
    """Return how long full power takes for the first 200 K, as the sensor sees it."""
    state, at_s, before_c = at_rest(20.0), 0.0, 20.0
    while state.junction_c < _WARM_C and at_s < LONGEST_S:
        if at_s > _EARLIEST_S and state.junction_c - before_c < _STANDS_K:
            return LONGEST_S
        before_c = state.junction_c
        state = advance(model, state, 1.0, 20.0, _WARM_STEP_S)
        at_s += _WARM_STEP_S
    return at_s - _WARM_STEP_S * max(state.junction_c - _WARM_C, 0.0) / max(state.junction_c - before_c, 1e-6)


def predict(
    profile: Profile,
    model: OvenModel,
    ambient_c: float,
    start_c: float,
    waits_s: Sequence[float | None] = (),
) -> Forecast:
    """Return the predicted curve of a profile, one point each 20 s, and when each segment will be over.

    `waits_s` holds for each operator step how long a person takes, else it counts as answered at once. The
    middle is the model's own; the band holds the heats of six ovens drawn from the fit's uncertainty, and of
    one where what nobody has seen of this oven is at its far end. An oven that is not learned has a band of
    its ends only, from the quickest to the slowest that a nameplate, or a timed heat-up, has stood on: no
    curve is likely.
    """
    cold = resting(start_c, ambient_c)

    def heat(each: OvenModel, cooling: OvenModel | None = None) -> HeatSimulation:
        start = SimulatedState(cold, cooling=cooling)
        return HeatSimulation(profile, each, ambient_c, start, waits_s).whole()

    middle, *others = [heat(each) for each in as_likely(model)]
    others += [heat(each, cooling) for each, cooling in _unseen(model)]
    bounds = [] if model.learned else [heat(each, cooling) for each, cooling in _guessed(model)]
    points = []
    for i, process_c in enumerate(middle.curve_c):
        near = [other.curve_c[min(i, len(other.curve_c) - 1)] for other in others] + [process_c]
        points.append(ForecastPoint(i * STEP_S, process_c, min(near), max(near)))
    heats = (middle, *others, *bounds)
    share = _OWN_SHARE if model.learned else _GUESSED_SHARE
    ends = tuple(
        _end(index, [heat.ends_s.get(index) for heat in heats], share, _creeping_s(profile, model, index))
        for index in middle.ends_s
    )
    return Forecast(tuple(points), ends)


def _unseen(model: OvenModel) -> list[tuple[OvenModel, OvenModel | None]]:
    """Return ovens that show how far off it may be what was not learned: how to heat, and how to cool.

    Without a recorded cooling, how slowly it cools; with one, the heat beyond what the heat-up has shown: two
    fits that draw the same heat-up part there.
    """
    if not model.learned:
        return []
    return [(model, _paced(model, _SLOWEST_COOLING))] if model.cools is None else [(model.cools, None)]


def _guessed(model: OvenModel) -> list[tuple[OvenModel, OvenModel | None]]:
    """Return the quickest and the slowest oven that a nameplate may stand on, each with how it cools.

    Where the maker timed a full heat-up the heating is known to what a clock and another day leave open.
    """
    if not _timed(model):
        return [(_paced(model, pace), None) for pace in _NAMEPLATE_PACES]
    both = zip(_TIMED_PACES, _TIMED_COOLINGS, strict=True)
    return [(_paced(model, heats), _paced(model, cools)) for heats, cools in both]


def _timed(model: OvenModel) -> bool:
    """True for a first guess that rests on a timed heat-up: its constants are that much better known."""
    return bool(model.covariance) and model.covariance[0][0] <= MEASURED_SD**2


def _paced(model: OvenModel, pace: float) -> OvenModel:
    """Return the oven with so many times its heat capacity: at the same losses it takes so much longer."""
    names = ("element", "face", "wall", "load")
    return replace(model, **{name: getattr(model, name) * pace for name in names})


def as_likely(model: OvenModel) -> tuple[OvenModel, ...]:
    """Return the model, then the ovens that draw its band: six as likely by the fit, none if not learned."""
    return (model, *(drawn(model, seed) for seed in range(_DRAWS) if model.learned))


def _creeping_s(profile: Profile, model: OvenModel, index: int) -> float:
    """Return by how much later than by its power an oven that is not learned may have come so far."""
    ways = sum(isinstance(segment, Ramp) for segment in profile.segments[: index + 1])
    return 0.0 if model.learned else _CREEPS_S * min(ways, 1)


def _end(index: int, times_s: list[float | None], share: float, creeping_s: float) -> End:
    """Return the end of a segment from the heats' own times, the model's first."""
    known = [at_s for at_s in times_s if at_s is not None]
    early_s, late_s = min(known), max(known)
    early_s = max(0.0, early_s - _OWN_S - share * early_s)
    late_s += _OWN_S + share * late_s + creeping_s
    return End(index, known[0], early_s, late_s if len(known) == len(times_s) else None)
