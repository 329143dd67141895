"""The curve that a heat will draw, with a band: the fitted model, and others as likely by the fit.

Others are drawn from a normal distribution with the covariance of the fit (textbook).
"""

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, replace

from kilnctl.forecast.heat_simulation import LONGEST_S, STEP_S, HeatSimulation, SimulatedState, resting
from kilnctl.model.oven_model import PARAMETERS, OvenModel, advance, at_rest
from kilnctl.profile.segments import Profile

_DRAWS = 6
# A draw moves no constant by more than two standard deviations, nor by more than a factor of four.
_SDS = 2.0
_LOG = 1.4
# The supply of another day: heater power within 6 % (volts within 3 %; common practice, no single source).
_DAY_SD = 0.03
_WARM_C, _WARM_STEP_S = 220.0, 10.0
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
    middle is the model's own; the band holds the heats of six ovens drawn from the fit's uncertainty. An oven
    that is not learned has no band: how far off its nameplate is, nobody knows.
    """
    start = SimulatedState(resting(start_c, ambient_c))
    middle, *others = [
        HeatSimulation(profile, each, ambient_c, start, waits_s).whole() for each in as_likely(model)
    ]
    points = []
    for i, process_c in enumerate(middle.curve_c):
        near = [other.curve_c[min(i, len(other.curve_c) - 1)] for other in others] + [process_c]
        points.append(ForecastPoint(i * STEP_S, process_c, min(near), max(near)))
    heats = (middle, *others)
    ends = tuple(_end(index, [heat.ends_s.get(index) for heat in heats]) for index in middle.ends_s)
    return Forecast(tuple(points), ends)


def as_likely(model: OvenModel) -> tuple[OvenModel, ...]:
    """Return the model, then the ovens that draw its band: six as likely by the fit, none if not learned."""
    return (model, *(drawn(model, seed) for seed in range(_DRAWS) if model.learned))


def _end(index: int, times_s: list[float | None]) -> End:
    """Return the end of a segment from the heats' own times, the model's first."""
    known = [at_s for at_s in times_s if at_s is not None]
    return End(index, known[0], min(known), max(known) if len(known) == len(times_s) else None)
