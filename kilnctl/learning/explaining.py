"""Several explanations of one heat-up, side by side: damped least squares (Levenberg-Marquardt, textbook).

The model's own `advance` takes arrays in place of numbers. So one walk through the record moves all
explanations with all their slopes at once, which costs little more than one of them alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from kilnctl.model.oven_model import PARAMETERS, OvenModel, OvenState, advance, at_rest

Vector = npt.NDArray[np.float64]
# How long a span of the record is by the time since the heat was switched: what is quick is over soon.
_FINE = ((60.0, 2.0), (180.0, 4.0), (600.0, 8.0), (float("inf"), 15.0))
# So many readings before the heat say where the oven began.
_LOOKED_AT = 60
# A heat that is switched more often than this is no learning heat-up; it is walked in even spans.
_MOST_SWITCHED, _EVEN_S = 60, 4.0
# Expected misfit of a model this small, and over how long it keeps its sign (from fits of invented ovens).
MISFIT_K, _SIGN_KEPT_S = 0.5, 120.0
# How far a constant may reasonably lie from the nameplate's (standard deviation of its logarithm).
_PRIOR_SD = 1.0
FURTHEST = 4.0
_NUDGE, _ITERATIONS, _CLOSE, _LARGEST = 1e-3, 40, 2e-3, 1.0
# After so many steps nobody waits for a descent that is still this many times as bad as the best.
_PATIENCE, _HOPELESS = 12, 3.0
_DAMP, _LOOSER, _TIGHTER, _TIGHTEST = 0.03, 0.3, 4.0, 1e6


@dataclass(frozen=True, slots=True)
class HeatUpRecord:
    """A heat-up in spans: when each ends, how long it is, its mean reading, its heat (0..1)."""

    start_c: float
    ambient_c: float
    at_s: Vector
    span_s: Vector
    mean_c: Vector
    heat: Vector


@dataclass(frozen=True, slots=True)
class Valley:
    """Where a descent ended: logarithms, the sum of squares, the rms of readings in K, the normal matrix."""

    logs: Vector
    cost: float
    residual_k: float
    normal: Vector


def spans_of(
    process_c: Sequence[float], heat: Sequence[float], ambient_c: float, dt_s: float
) -> HeatUpRecord:
    """Return an even record in spans that are short after each switching of the heat and long elsewhere."""
    shares, readings = np.asarray(heat, dtype=float), np.asarray(process_c, dtype=float)
    # A reading stands at the beginning of its sample; half-way through it the oven is between two.
    halfway = np.append((readings[1:] + readings[:-1]) / 2, readings[-1])
    edges = _edges(shares, dt_s)
    count: Vector = np.diff(edges).astype(np.float64)
    mean_c, mean = (np.add.reduceat(values, edges[:-1]) / count for values in (halfway, shares))
    ends_s: Vector = edges[1:] * np.float64(dt_s)
    before_heat = max(1, min(int(np.argmax(shares > 0.5)), _LOOKED_AT))
    start_c = float(readings[:before_heat].mean())
    return HeatUpRecord(start_c, ambient_c, ends_s, count * dt_s, mean_c, mean)


def _edges(shares: Vector, dt_s: float) -> npt.NDArray[np.int64]:
    """Return the samples at which spans begin, and the end of the last."""
    switched = np.flatnonzero(np.abs(np.diff(shares)) > 0.5) + 1
    end = len(shares)
    if len(switched) > _MOST_SWITCHED:
        return np.append(np.arange(0, end - 1, max(1, round(_EVEN_S / dt_s))), end)
    stops = [*switched.tolist(), end]
    edges, since, at = [0], 0, 0
    while at < end:
        stop = next(s for s in stops if s > at)
        span_s = next(span for until, span in _FINE if (at - since) * dt_s < until)
        at = min(at + max(1, round(span_s / dt_s)), stop)
        since = at if at == stop else since
        edges.append(at)
    return np.array(edges)


def with_logs(start: OvenModel, logs: Any) -> OvenModel:
    """Return the model with its constants moved by logarithms: numbers, or a row of numbers for each."""
    factors = np.exp(np.asarray(logs)).tolist() if np.ndim(logs) == 1 else np.exp(logs)
    moved = {n: getattr(start, n) * f for n, f in zip(PARAMETERS, factors, strict=True)}
    return replace(start, **moved)


def drawn_by(model: Any, record: HeatUpRecord) -> Vector:
    """Return the mean reading of each span that a model draws, a column for each of its rows."""
    state: Any = at_rest(record.start_c)
    wide = np.shape(model.element)
    if wide:
        each_c: list[Any] = [np.full(wide, at_c) for at_c in state.nodes]
        state = OvenState(*each_c)
    means = np.empty((len(record.span_s), *wide))
    for i, (heat, span_s) in enumerate(zip(record.heat.tolist(), record.span_s.tolist(), strict=True)):
        later = advance(model, state, heat, record.ambient_c, span_s)
        means[i] = (state.junction_c + later.junction_c) / 2
        state = later
    return means


def descend(
    start: OvenModel, record: HeatUpRecord, begins: Sequence[Sequence[float]], highest: Vector
) -> list[Valley]:
    """Return where each descent ends."""
    logs = np.array(begins)
    off, slopes = _misfits(start, record, logs)
    cost = (off * off).sum(axis=1)
    damp, calm = np.full(len(logs), _DAMP), np.zeros(len(logs), dtype=int)
    for number in range(_ITERATIONS):
        tried = np.clip(logs + _steps(off, slopes, damp), -FURTHEST, highest)
        new_off, new_slopes = _misfits(start, record, tried)
        new_cost = (new_off * new_off).sum(axis=1)
        better = new_cost < cost
        gained = np.where(better, (cost - new_cost) / cost, 0.0)
        logs[better], off[better], slopes[better] = tried[better], new_off[better], new_slopes[better]
        cost = np.where(better, new_cost, cost)
        damp = np.where(better, damp * _LOOSER, np.minimum(damp * _TIGHTER, _TIGHTEST))
        calm = np.where(better & (gained > _CLOSE), 0, calm + 1)
        hopeless = (cost > _HOPELESS * cost.min()) & (number >= _PATIENCE)
        if ((calm >= 3) | hopeless).all():
            break
    return [_valley(record, logs[i], float(cost[i]), off[i], slopes[i]) for i in range(len(logs))]


def _valley(record: HeatUpRecord, logs: Vector, cost: float, off: Vector, slopes: Vector) -> Valley:
    missed_k = off[: len(record.span_s)] / _weights(record)
    residual_k = float(np.sqrt((missed_k**2 * record.span_s).sum() / record.span_s.sum()))
    return Valley(logs, cost, residual_k, slopes.T @ slopes)


def _steps(off: Vector, slopes: Vector, damp: Vector) -> Vector:
    """Return the damped Gauss-Newton step of each descent."""
    normal = np.einsum("sri,srj->sij", slopes, slopes)
    downhill = np.einsum("sri,sr->si", slopes, off)
    diagonal = np.einsum("sii->si", normal)
    damped = normal + (damp[:, None] * diagonal)[:, :, None] * np.eye(normal.shape[1])
    steps = -np.linalg.solve(damped, downhill[:, :, None])[:, :, 0]
    return np.asarray(np.clip(steps, -_LARGEST, _LARGEST))


def _weights(record: HeatUpRecord) -> Vector:
    return np.asarray(np.sqrt(record.span_s / _SIGN_KEPT_S) / MISFIT_K)


def _misfits(start: OvenModel, record: HeatUpRecord, logs: Vector) -> tuple[Vector, Vector]:
    """Return for each descent what it misses, weighed, with the prior below; and its slopes."""
    count, size = logs.shape
    nudged = np.repeat(logs[:, None, :], size + 1, axis=1)
    nudged[:, np.arange(1, size + 1), np.arange(size)] += _NUDGE
    curves = drawn_by(with_logs(start, nudged.reshape(-1, size).T), record)
    curves = curves.reshape(-1, count, size + 1).transpose(1, 0, 2)
    weights = _weights(record)[:, None]
    off = (curves[:, :, 0] - record.mean_c) * weights[:, 0]
    slopes = (curves[:, :, 1:] - curves[:, :, :1]) * (weights / _NUDGE)
    prior = np.broadcast_to(np.eye(size) / _PRIOR_SD, (count, size, size))
    return np.concatenate([off, logs / _PRIOR_SD], axis=1), np.concatenate([slopes, prior], axis=1)
