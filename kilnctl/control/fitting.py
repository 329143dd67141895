"""Fit the oven model to a recorded heat-up, in a process of its own: scipy must not sit in the controller.

    python -m kilnctl.control.fitting < heat.json > fit.json

reads {"start": model, "ambient_c": ..., "dt_s": ..., "process_c": [...], "heat": [...]} and writes
{"model": model, "curve_c": [...], "residual_k": ...} or {"error": "one line"}.
"""

import json
import math
import sys
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares

from kilnctl.control.model_path import TRUST
from kilnctl.errors import KilnctlError
from kilnctl.model.filter import OvenFilter
from kilnctl.model.oven import PARAMETERS, OvenModel, Usual, advance, at_rest

Vector = npt.NDArray[np.float64]
# Steps of the simulation; longer ones for a long heat-up, which needs no more points.
_STEP_S = 2.0
_POINTS = 3000
# One residual in this many steps: neighbours say the same thing again.
_KEEP = 4
# How far a constant may reasonably lie from the nameplate's (standard deviation of its logarithm).
_PRIOR_SD = 1.0
# No logarithm leaves the nameplate's further than this. The sensor's view of the element has a bound of its
# own: a free fit hides other errors in it (0.36 and 0.59 on two fibre ovens in whose view it fills 0.004) and
# then cuts too late: 2.8 and 3.4 K over at 218 degC, with the bound 0.3 and 1.0.
_FURTHEST, _MOST_SEEN = 4.0, 0.1
# Expected misfit of a model this small, and over how long it keeps its sign (from fits of invented ovens).
_MISFIT_K = 0.5
_SIGN_KEPT_S = 120.0
_WORST_RESIDUAL_K = 6.0


# So many readings are one correction of the filter at one reading a second.
_TOGETHER = 5


class NoFit(KilnctlError):
    """The heat-up cannot be described by the model; nothing is stored."""


@dataclass(frozen=True, slots=True)
class Fit:
    """A learned model and the curve that it draws over the heat-up (one value each `dt_s`)."""

    model: OvenModel
    curve_c: tuple[float, ...]
    measured_c: tuple[float, ...]
    dt_s: float


def fit(
    start: OvenModel, process_c: Sequence[float], heat: Sequence[float], ambient_c: float, dt_s: float
) -> Fit:
    """Return the model that draws a recorded heat-up best, with its uncertainty.

    `process_c` and `heat` (0..1, flowing until the next sample) are evenly sampled at dt_s. Least squares on
    the logarithms of the constants, drawn weakly towards `start`. Raises NoFit.
    """
    step_s = max(_STEP_S, len(process_c) * dt_s / _POINTS)
    measured, given = _thinned(process_c, heat, dt_s, step_s)
    if len(measured) < 200 or max(measured) - min(measured) < 50.0:
        raise NoFit("the record is too short or too flat to learn from")
    noise_k = noise_of(process_c)
    weight = math.sqrt(step_s * _KEEP / _SIGN_KEPT_S) / _MISFIT_K

    def misfit(logs: Vector) -> Vector:
        curve = simulate(_with(start, logs), measured[0], given, ambient_c, step_s)
        off = (curve - measured)[::_KEEP] * weight
        return np.concatenate([off, logs / _PRIOR_SD])

    bounds = (-_FURTHEST, _highest(start))
    found = least_squares(misfit, np.zeros(len(PARAMETERS)), x_scale=0.3, bounds=bounds, max_nfev=60)
    model = _with(start, found.x)
    curve = simulate(model, measured[0], given, ambient_c, step_s)
    residual_k = float(np.sqrt(np.mean((curve - measured) ** 2)))
    if not math.isfinite(residual_k) or residual_k > _WORST_RESIDUAL_K:
        raise NoFit(f"the model misses the heat-up by {residual_k:.1f} K; was the oven disturbed?")
    spread = np.linalg.inv(found.jac.T @ found.jac) * max(1.0, residual_k / _MISFIT_K) ** 2
    model = replace(
        model,
        learned=True,
        residual_k=residual_k,
        noise_k=noise_k,
        covariance=tuple(tuple(float(x) for x in row) for row in spread),
    )
    model = replace(model, usual=usual(model, process_c, heat, ambient_c, dt_s))
    return Fit(model, tuple(curve.tolist()), tuple(measured.tolist()), step_s)


def usual(
    model: OvenModel, process_c: Sequence[float], heat: Sequence[float], ambient_c: float, dt_s: float
) -> Usual:
    """Return what a heat's filter finds on the learning heat itself, up to its first pause.

    So far it is a heat like any other: full power from cold.
    """
    filter_, before = OvenFilter(model, TRUST), 0.0
    for measured_c, share in zip(process_c, heat, strict=True):
        filter_.step(measured_c, before, ambient_c, dt_s)
        if share < before:
            break
        before = share
    lag, power, _ = filter_.logs
    return Usual(lag, power, measured_c)


def simulate(
    model: OvenModel, start_c: float, heat: Sequence[float], ambient_c: float, step_s: float
) -> Vector:
    """Return the sensor curve of a model for a sequence of heats, one value each step_s seconds."""
    state, curve = at_rest(start_c), [start_c]
    for share in heat[:-1]:
        state = advance(model, state, share, ambient_c, step_s)
        curve.append(state.junction_c)
    return np.array(curve)


def noise_of(process_c: Sequence[float]) -> float:
    """Return the noise of one reading in K from second differences, which a smooth heat does not have.

    Of readings, and of means of five: a module that measures anew only every few seconds repeats itself,
    which hides noise from its readings but not from their means.
    """
    readings = np.asarray(process_c, dtype=float)
    means = readings[: len(readings) // _TOGETHER * _TOGETHER].reshape(-1, _TOGETHER).mean(axis=1)
    return max(0.05, _scatter(readings), _scatter(means) * math.sqrt(_TOGETHER))


def _highest(start: OvenModel) -> Vector:
    """Return the largest logarithms that a fit may find."""
    top = np.full(len(PARAMETERS), _FURTHEST)
    top[PARAMETERS.index("sees_element")] = math.log(_MOST_SEEN / start.sees_element)
    return top


def _with(start: OvenModel, logs: Vector) -> OvenModel:
    factors = np.exp(logs).tolist()
    return replace(start, **{n: getattr(start, n) * f for n, f in zip(PARAMETERS, factors, strict=True)})


def _thinned(
    process_c: Sequence[float], heat: Sequence[float], dt_s: float, step_s: float
) -> tuple[Vector, list[float]]:
    """Return the record at even steps: readings at the step's start, heat as its mean."""
    times = np.arange(len(process_c)) * dt_s
    edges = np.arange(0.0, times[-1], step_s)
    given = np.concatenate([[0.0], np.cumsum(np.asarray(heat, dtype=float) * dt_s)])
    energy = np.interp(np.append(edges, edges[-1] + step_s), np.append(times, times[-1] + dt_s), given)
    return np.interp(edges, times, np.asarray(process_c, dtype=float)), (np.diff(energy) / step_s).tolist()


def _scatter(values: Vector) -> float:
    """Return the standard deviation of white noise on a smooth curve (median of its second differences)."""
    return float(np.median(np.abs(np.diff(values, 2)))) / 0.6745 / math.sqrt(6.0)


def _answer(task: dict[str, Any]) -> dict[str, Any]:
    try:
        done = fit(
            OvenModel.from_dict(task["start"]),
            task["process_c"],
            task["heat"],
            task["ambient_c"],
            task["dt_s"],
        )
    except NoFit as e:
        return {"error": str(e)}
    return {
        "model": done.model.to_dict(),
        "residual_k": done.model.residual_k,
        "dt_s": done.dt_s,
        "curve_c": done.curve_c,
        "measured_c": done.measured_c,
    }


if __name__ == "__main__":
    json.dump(_answer(json.load(sys.stdin)), sys.stdout)
