"""The curve that a heat will draw, with a band: the fitted model, and others as likely by the fit."""

import random
from dataclasses import dataclass, replace

import numpy as np

from kilnctl.model.oven import PARAMETERS, OvenModel, advance, at_rest
from kilnctl.profile.cursor import Cursor
from kilnctl.profile.cursor import advance as move
from kilnctl.profile.segments import Operator, Profile

_DRAWS = 6
_STEP_S = 20.0
_LONGEST_S = 48 * 3600.0
# A draw moves no constant by more than two standard deviations, nor by more than a factor of four.
_SDS = 2.0
_LOG = 1.4


@dataclass(frozen=True, slots=True)
class Predicted:
    """One point of the curve: seconds from the start, temperature in degC, and the band around it."""

    at_s: float
    process_c: float
    low_c: float
    high_c: float


def drawn(model: OvenModel, seed: int) -> OvenModel:
    """Return an oven that the fit holds as likely as the model itself; never exactly the model."""
    if not model.covariance:
        return model
    spread = np.array(model.covariance)
    values, vectors = np.linalg.eigh((spread + spread.T) / 2)
    dice = random.Random(seed)
    steps = [min(max(dice.gauss(0.0, 1.0), -_SDS), _SDS) for _ in values]
    logs = vectors @ (np.sqrt(np.maximum(values, 0.0)) * np.array(steps))
    factors = np.exp(np.clip(logs, -_LOG, _LOG)).tolist()
    return replace(
        model, **{name: getattr(model, name) * f for name, f in zip(PARAMETERS, factors, strict=True)}
    )


def predict(profile: Profile, model: OvenModel, ambient_c: float, start_c: float) -> tuple[Predicted, ...]:
    """Return the predicted curve of a profile, one point each 20 s; operator steps count as answered at once.

    The middle is the model's own; the band holds the curves of six ovens drawn from the fit's uncertainty.
    """
    middle = _curve(profile, model, ambient_c, start_c)
    others = [_curve(profile, drawn(model, seed), ambient_c, start_c) for seed in range(_DRAWS)]
    points = []
    for i, process_c in enumerate(middle):
        near = [curve[min(i, len(curve) - 1)] for curve in others] + [process_c]
        points.append(Predicted(i * _STEP_S, process_c, min(near), max(near)))
    return tuple(points)


def _curve(profile: Profile, model: OvenModel, ambient_c: float, start_c: float) -> list[float]:
    """Return the sensor's curve under a controller that never overshoots and uses all the power it needs."""
    cold = abs(start_c - ambient_c) < 10.0
    state, cursor = at_rest(start_c, None if cold else ambient_c), Cursor()
    curve = [start_c]
    while not cursor.over and len(curve) * _STEP_S < _LONGEST_S:
        waits = isinstance(profile.segments[cursor.segment], Operator)
        cursor = move(profile, cursor, state.junction_c, None, _STEP_S, "done" if waits else None)
        duty = 0.0
        if cursor.setpoint_c is not None:
            cold_state = advance(model, state, 0.0, ambient_c, 2 * _STEP_S)
            hot_state = advance(model, state, 1.0, ambient_c, 2 * _STEP_S)
            reach_k = max(hot_state.junction_c - cold_state.junction_c, 1e-6)
            duty = min(max((cursor.setpoint_c - cold_state.junction_c) / reach_k, 0.0), 1.0)
        state = advance(model, state, duty, ambient_c, _STEP_S)
        curve.append(state.junction_c)
    return curve
