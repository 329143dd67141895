"""Slower sensor or weaker heater? A second look at the warming up, when it is over.

In mid-heat both look alike to the filter, which sees each reading once. Here the model draws the warming up
again as a whole, once with the sensor's lag free and once with the heater's power (each beside the load):
a lag shifts the curve, a power stretches it, and what the cut-off leaves behind tells them apart. Least
squares in a few steps (Gauss-Newton), done piece by piece so that no tick waits for it.
"""

import math
from collections.abc import Generator
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from kilnctl.control.control_io import ControlInput
from kilnctl.model.oven_model import OvenModel, advance, at_rest

Vector = npt.NDArray[np.float64]
Cause = Literal["lag", "power", "unclear"]

# What is looked at: so much rise, or until so long after the goal came near. Higher up the model's own error
# and a load that glows weigh more than what is asked.
_RISE_K, _LEAST_RISE_K = 250.0, 60.0
_NEAR_K, _AFTER_S = 4.0, 240.0
_SPAN_S, _LONGEST = 10.0, 1080
_FULL, _FULL_WAY = 0.95, 0.25
# A fit that misses its own heat-up by less is a good one: fibre ovens lie above it, all others below.
_GOOD_K = 0.6
# Steps of the model in one piece: about a sixth of a millisecond.
_PIECE = 20
# Expected misfit and how long it keeps its sign, as in the fit; how far lag, power and load (logarithms) may
# reasonably be from the model. With 0.7 for the load a weak heater passed as a heavy load.
_MISFIT_K, _SIGN_KEPT_S = 0.5, 120.0
_PRIOR_SDS = (0.5, 0.2, 0.3)
_LAG, _POWER, _LOAD = range(3)
_ITERATIONS, _NUDGE, _LARGEST, _CLOSE = 6, 0.03, 0.4, 0.004
# One cause is named where the other explains so much less, and both together not much more. On eleven tuning
# ovens the wrong one was ahead by 1.12 at most, the right one by 1.6 to 145 in all but five of 82 heats.
_CLEAR, _ENOUGH, _ANYHOW = 1.3, 2.0, 6.0


@dataclass(frozen=True, slots=True)
class LagOrPower:
    """What the second look found. `lag` and `power` are logarithms, each as if it were the only cause.

    `shows_lag` is True where full heat flowed for a quarter of the way, or the fit is a good one: on a ramp
    what the model misses of a fibre oven looks like a lag.
    """

    cause: Cause
    lag: float
    power: float
    shows_lag: bool = True


class SecondLook:
    """Keeps the warming up of a cold oven in spans of 10 s, and judges it once it is over."""

    def __init__(self, model: OvenModel, ambient_c: float) -> None:
        """`model` is the one that this heat started from."""
        self._model, self._ambient_c = model, ambient_c
        self._spans: list[tuple[float, float, float]] = []
        self._span_s = self._warmth = self._heat_s = self._near_s = 0.0
        self._judging: Generator[None, None, LagOrPower] | None = None
        self.over = False
        self.verdict: LagOrPower | None = None

    def see(self, look: ControlInput, heat: float) -> None:
        """Take a tick into account, or go on judging; `heat` is what flowed since the last tick."""
        if self.over:
            return
        if self._judging is not None:
            self._work(self._judging)
        elif look.door_open or len(self._spans) >= _LONGEST:
            self.over = True
        else:
            self._keep(look, heat)

    def _keep(self, look: ControlInput, heat: float) -> None:
        self._span_s += look.dt_s
        self._warmth += look.process_c * look.dt_s
        self._heat_s += heat * look.dt_s
        if look.goal_c is not None and (self._near_s > 0.0 or look.process_c > look.goal_c - _NEAR_K):
            self._near_s += look.dt_s
        if self._span_s < _SPAN_S:
            return
        self._spans.append((self._warmth / self._span_s, self._heat_s / self._span_s, self._span_s))
        self._span_s = self._warmth = self._heat_s = 0.0
        rise_k = look.process_c - self._spans[0][0]
        if rise_k > _RISE_K or (self._near_s > _AFTER_S and rise_k > _LEAST_RISE_K):
            self._judging = judged(self._model, self._spans, self._ambient_c)

    def _work(self, judging: Generator[None, None, LagOrPower]) -> None:
        try:
            next(judging)
        except StopIteration as done:
            self.verdict, self.over = done.value, True
        except np.linalg.LinAlgError:
            self.over = True


def judged(
    model: OvenModel, spans: list[tuple[float, float, float]], ambient_c: float
) -> Generator[None, None, LagOrPower]:
    """Return what changed, from spans of (mean reading in degC, heat 0..1, seconds)."""
    fits = []
    for free in ((_LAG, _POWER, _LOAD), (_LAG, _LOAD), (_POWER, _LOAD)):
        fits.append((yield from _fitted(model, spans, ambient_c, free)))
    (_, both), (lags, by_lag), (powers, by_power) = fits
    shows_lag = _full(spans) or model.residual_k < _GOOD_K
    return LagOrPower(_cause(by_lag, by_power, both), float(lags[_LAG]), float(powers[_POWER]), shows_lag)


def _full(spans: list[tuple[float, float, float]]) -> bool:
    """Return whether the first cut came after a quarter of the way that is looked at."""
    start_c, end_c = spans[0][0], spans[-1][0]
    cut_c = next((mean_c for mean_c, heat, _ in spans[1:] if heat < _FULL), end_c)
    return cut_c - start_c > _FULL_WAY * (end_c - start_c)


def _cause(by_lag: float, by_power: float, both: float) -> Cause:
    less, more = sorted((by_lag, by_power))
    if more < _CLEAR * less or less > _ENOUGH * both + _ANYHOW:
        return "unclear"
    return "lag" if by_lag < by_power else "power"


def _fitted(
    model: OvenModel, spans: list[tuple[float, float, float]], ambient_c: float, free: tuple[int, ...]
) -> Generator[None, None, tuple[Vector, float]]:
    """Return the logarithms of lag, power and load that draw the spans best, and what is left (squared)."""
    logs, own = np.zeros(3), list(free)
    prior = np.diag([1.0 / _PRIOR_SDS[i] ** 2 for i in free])
    for _ in range(_ITERATIONS):
        off = yield from _misfit(model, spans, ambient_c, logs)
        slopes = []
        for i in free:
            other = logs.copy()
            other[i] += _NUDGE
            slopes.append(((yield from _misfit(model, spans, ambient_c, other)) - off) / _NUDGE)
        by = np.array(slopes)
        step = np.linalg.solve(by @ by.T + prior, -(by @ off + prior @ logs[own]))
        logs[own] += np.clip(step, -_LARGEST, _LARGEST)
        if float(np.abs(step).max()) < _CLOSE:
            break
    off = yield from _misfit(model, spans, ambient_c, logs)
    return logs, float(off @ off + logs[own] @ prior @ logs[own])


def _misfit(
    model: OvenModel, spans: list[tuple[float, float, float]], ambient_c: float, logs: Vector
) -> Generator[None, None, Vector]:
    """Return by how much a scaled model misses the mean reading of each span, weighed."""
    scaled = model.scaled(*np.exp(logs).tolist())
    state, off = at_rest(spans[0][0]), []
    for number, (mean_c, heat, span_s) in enumerate(spans, start=1):
        later = advance(scaled, state, heat, ambient_c, span_s)
        weight = math.sqrt(span_s / _SIGN_KEPT_S) / _MISFIT_K
        off.append(weight * ((state.junction_c + later.junction_c) / 2 - mean_c))
        state = later
        if number % _PIECE == 0 or number == len(spans):
            yield
    return np.array(off)
