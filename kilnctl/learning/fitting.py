"""Fit the oven model to a recorded heat-up, in a process of its own: a fit takes seconds of a processor.

    python -m kilnctl.learning.fitting < heat.json > fit.json

reads {"start": model, "ambient_c": ..., "dt_s": ..., "process_c": [...], "heat": [...]} and writes
{"model": model, "curve_c": [...], "residual_k": ...} or {"error": "one line"}. With "cooling": true the
start is a learned model, and its heat-up goes on into the long cooling: {"model": model}.

One heat-up has several explanations (a slow element with a quick sensor draws nearly what a quick element
with a slow sensor draws), and a descent ends in the valley where it began. So it begins at several that
differ in their physics. The best is the model; of those that draw the heat-up nearly as well, the one that
coasts furthest is kept beside it as the bound.
"""

import json
import math
import sys
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from kilnctl.errors import KilnctlError
from kilnctl.learning.explaining import FURTHEST, MISFIT_K, Valley, descend, drawn_by, spans_of, with_logs
from kilnctl.learning.pulse_test import pulses_begin, soft_start_s
from kilnctl.model.coast import Outlook
from kilnctl.model.filter import OvenFilter
from kilnctl.model.observer import Observer
from kilnctl.model.oven_model import FIRST_K, PARAMETERS, OvenModel, Usual, advance, at_rest
from kilnctl.model.seen_coasts import Climb, coasts_of
from kilnctl.model.soft_start import softened
from kilnctl.model.trust import TRUST

# No logarithm leaves the nameplate's further than this. The sensor's view of the element has a bound of its
# own: a free fit hides other errors in it (0.36 and 0.59 on two fibre ovens in whose view it fills 0.004) and
# then cuts too late: 2.8 and 3.4 K over at 218 degC, with the bound 0.3 and 1.0.
_MOST_SEEN = 0.1
_WORST_RESIDUAL_K = 6.0
# Ovens that a model draws show 0.3 at most, a melting bath and a draught in gusts 0.8 and more.
_UNKNOWABLE = 0.6
_FEWEST_READINGS, _LEAST_RISE_K = 400, 50.0
# What cannot be explained so long after a switching is no model's error any more; so much of it tells.
_CALM_AFTER_S, _CALM_LEAST_S = 300.0, 300.0
# So many readings are one correction of the filter at one reading a second.
_TOGETHER = 5
# Where a descent begins: logarithms beside the nameplate's. Warm air at the sensor; a slow sensor before a
# quick element; neither; a light wall; a slow element before a quick sensor.
_STARTS: tuple[dict[str, float], ...] = (
    {},
    {"warm_air": 1.0, "sees_element": -2.0},
    {"element": -1.0, "sheath_s": 0.7, "face": -0.7},
    {"warm_air": -2.0, "sees_element": -2.0},
    {
        "wall": -1.3,
        "leak": -1.8,
        "element_radiation": -1.3,
        "sees_element": -1.1,
        "element": -0.9,
        "load": -0.9,
    },
    {"element": 1.2, "sheath_s": -0.7, "element_radiation": -0.7},
)
# An explanation is plausible where it misses the heat-up by no more than this factor and so much more (K).
_PLAUSIBLE, _ANYHOW_K = 1.25, 0.1
# An explanation bounds the best where it coasts further by this factor in the mean.
_FURTHER = 1.02
# A pause of the learning heat begins after the sensor has risen by more.
_WAITED_K = 12.0
# Where explanations are asked for their coast, as shares of the highest reading above the room.
_ASKED = (0.1, 0.25, 0.5)


class NoFit(KilnctlError):
    """The heat-up cannot be described by the model; nothing is stored."""


@dataclass(frozen=True, slots=True)
class Fit:
    """A learned model and the curve that it draws over the heat-up, one value at each of `at_s`."""

    model: OvenModel
    curve_c: tuple[float, ...]
    measured_c: tuple[float, ...]
    at_s: tuple[float, ...]


def fit(
    start: OvenModel, process_c: Sequence[float], heat: Sequence[float], ambient_c: float, dt_s: float
) -> Fit:
    """Return the model that draws a recorded heat-up best, with its uncertainty.

    `process_c` and `heat` (0..1, flowing until the next sample) are evenly sampled at dt_s. Least squares on
    the logarithms of the constants, drawn weakly towards `start`. Raises NoFit.
    """
    if len(process_c) < _FEWEST_READINGS or max(process_c) - min(process_c) < _LEAST_RISE_K:
        raise NoFit("the record is too short or too flat to learn from")
    until = pulses_begin(heat, dt_s)
    found = _fit_heat_up(start, process_c[:until], heat[:until], ambient_c, dt_s)
    soft_s = soft_start_s(found.model, process_c, heat, ambient_c, dt_s)
    if soft_s:
        gave = softened(heat[:until], dt_s, soft_s)
        found = _fit_heat_up(replace(start, soft_s=soft_s), process_c[:until], gave, ambient_c, dt_s)
    return found


def _fit_heat_up(
    start: OvenModel, process_c: Sequence[float], heat: Sequence[float], ambient_c: float, dt_s: float
) -> Fit:
    record = spans_of(process_c, heat, ambient_c, dt_s)
    valleys = descend(start, record, _starts(start), _highest(start))
    best = min(valleys, key=lambda valley: valley.cost)
    model = _fitted_model(start, best, noise_of(process_c))
    if not math.isfinite(best.residual_k) or best.residual_k > _WORST_RESIDUAL_K:
        raise NoFit(f"the model misses the heat-up by {best.residual_k:.1f} K; was the oven disturbed?")
    eye, restless = unexplained(model, process_c, heat, ambient_c, dt_s)
    if eye > _UNKNOWABLE:
        raise NoFit(
            f"this oven behaves like none that can be learned: {eye:.0%} of its power came or went in a way "
            "no model explains (a bath that melts, a draught, a door?). kilnctl still heats it, slowly, by "
            "what each heat shows"
        )
    model = replace(
        model,
        usual=usual(model, process_c, heat, ambient_c, dt_s),
        bound=_furthest(start, valleys, model, ambient_c, max(process_c)),
        unexplained=eye,
        restless=restless,
        coasts=coasts_of(process_c, heat, dt_s),
        first_late_s=first_late_s(model, process_c, heat, ambient_c, dt_s),
    )
    curve_c = drawn_by(model, record)
    return Fit(model, tuple(curve_c.tolist()), tuple(record.mean_c.tolist()), tuple(record.at_s.tolist()))


def fit_cooling(
    start: OvenModel, process_c: Sequence[float], heat: Sequence[float], ambient_c: float, dt_s: float
) -> OvenModel:
    """Return the model that draws a heat-up and the long cooling after it, drawn weakly towards the
    learned `start`.

    A heat-up hardly enters the wall, and what the wall holds decides how long the oven takes to cool. Raises
    NoFit.
    """
    record = spans_of(process_c, softened(heat, dt_s, start.soft_s), ambient_c, dt_s)
    (valley,) = descend(start, record, [[0.0] * len(PARAMETERS)], _highest(start))
    if not math.isfinite(valley.residual_k) or valley.residual_k > _WORST_RESIDUAL_K:
        raise NoFit(f"the model misses the cooling by {valley.residual_k:.1f} K; was the door opened?")
    model = _fitted_model(start, valley, start.noise_k)
    return replace(model, cools=None, cooled_to_c=float(process_c[-1]))


def _starts(start: OvenModel) -> list[list[float]]:
    """Return where the descents begin, none beyond what a fit may find."""
    highest = _highest(start).tolist()
    return [
        [min(begin.get(name, 0.0), top) for name, top in zip(PARAMETERS, highest, strict=True)]
        for begin in _STARTS
    ]


def _fitted_model(start: OvenModel, valley: Valley, noise_k: float) -> OvenModel:
    spread = np.linalg.inv(valley.normal) * max(1.0, valley.residual_k / MISFIT_K) ** 2
    return replace(
        with_logs(start, valley.logs),
        learned=True,
        residual_k=valley.residual_k,
        misfit_k=math.sqrt(max(valley.residual_k**2 - MISFIT_K**2, 0.0)),
        noise_k=noise_k,
        covariance=tuple(tuple(float(x) for x in row) for row in spread),
    )


def _furthest(
    start: OvenModel, valleys: list[Valley], best: OvenModel, ambient_c: float, hottest_c: float
) -> OvenModel | None:
    """Return the plausible explanation that coasts furthest; None where none goes further than the best."""
    most_k = best.residual_k * _PLAUSIBLE + _ANYHOW_K
    others = [with_logs(start, valley.logs) for valley in valleys if valley.residual_k <= most_k]
    places = [ambient_c + share * (hottest_c - ambient_c) for share in _ASKED]

    def further(model: OvenModel) -> float:
        own, other = coasts_k(best, places, ambient_c), coasts_k(model, places, ambient_c)
        return sum(b / max(a, 0.5) for a, b in zip(own, other, strict=True)) / len(places)

    found = max(others, key=further)
    return found if further(found) > _FURTHER else None


def coasts_k(model: OvenModel, places_c: Sequence[float], ambient_c: float) -> list[float]:
    """Return how far a model coasts after full heat from cold is cut at each of these temperatures, in K."""
    state, found = at_rest(ambient_c), []
    for place_c in places_c:
        before_c = -1e9
        while state.junction_c < place_c and state.junction_c > before_c - 0.1:
            before_c = state.junction_c
            state = advance(model, state, 1.0, ambient_c, 4.0)
        found.append(Outlook(model, state, ambient_c).peak_c(0.0) - state.junction_c)
    return found


def usual(
    model: OvenModel, process_c: Sequence[float], heat: Sequence[float], ambient_c: float, dt_s: float
) -> Usual:
    """Return what a heat's filter finds on the learning heat itself, up to its first pause.

    So far it is a heat like any other: full power from cold. A wait for a late sensor is no such pause.
    """
    shares, readings = np.asarray(heat, dtype=float), np.asarray(process_c, dtype=float)
    falls = np.flatnonzero((np.diff(shares) < 0.0) & (readings[:-1] - readings[0] > _WAITED_K))
    end = int(falls[0]) + 1 if len(falls) else len(shares) - 1
    at_c = process_c[end]
    # As a heat's own filter will, this one learns nothing of the oven before half of the way to that pause.
    filter_ = OvenFilter(replace(model, usual=Usual(0.0, 0.0, at_c)), TRUST)
    for i in range(end + 1):
        filter_.step(process_c[i], heat[i - 1] if i else 0.0, ambient_c, dt_s)
    lag, power, _ = filter_.logs
    return Usual(lag, power, at_c)


def unexplained(
    model: OvenModel, process_c: Sequence[float], heat: Sequence[float], ambient_c: float, dt_s: float
) -> tuple[float, float | None]:
    """Return the most heat that the watchdog's eye cannot explain on the learning heat, which was sound.

    And the rms of it long after the heat was switched, None where the record has too little of that: a model
    of the wrong build errs after each switching and is calm then, a draught in gusts never is.
    """
    eye, most, calm = Observer(model), 0.0, []
    before = since_s = 0.0
    for i, reads_c in enumerate(process_c):
        flowed = heat[i - 1] if i else 0.0
        eye.step(reads_c, flowed, ambient_c, dt_s)
        seen = eye.unexplained or 0.0
        since_s = 0.0 if abs(flowed - before) > 0.5 else since_s + dt_s
        before, most = flowed, max(most, abs(seen))
        if since_s > _CALM_AFTER_S:
            calm.append(seen)
    return most, float(np.std(calm)) if len(calm) * dt_s > _CALM_LEAST_S else None


def first_late_s(
    model: OvenModel, process_c: Sequence[float], heat: Sequence[float], ambient_c: float, dt_s: float
) -> float | None:
    """Return how much later than its model the learning heat had risen by `FIRST_K`, in s.

    None where it paused before: what the model misses then is something else.
    """
    state, climb = at_rest(process_c[0]), Climb()
    reads_s = draws_s = None
    for i, reads_c in enumerate(process_c):
        climb.see(reads_c, dt_s)
        if reads_s is None and climb.now_c - process_c[0] > FIRST_K:
            reads_s = i * dt_s
        if draws_s is None and state.junction_c - process_c[0] > FIRST_K:
            draws_s = i * dt_s
        if reads_s is not None and draws_s is not None:
            return reads_s - draws_s
        if i and heat[i] < heat[i - 1]:
            return None
        state = advance(model, state, heat[i], ambient_c, dt_s)
    return None


def noise_of(process_c: Sequence[float]) -> float:
    """Return the noise of one reading in K from second differences, which a smooth heat does not have.

    Of readings, and of means of five: a module that measures anew only every few seconds repeats itself,
    which hides noise from its readings but not from their means.
    """
    readings = np.asarray(process_c, dtype=float)
    means = readings[: len(readings) // _TOGETHER * _TOGETHER].reshape(-1, _TOGETHER).mean(axis=1)
    return max(0.05, _scatter(readings), _scatter(means) * math.sqrt(_TOGETHER))


def _highest(start: OvenModel) -> Any:
    """Return the largest logarithms that a fit may find."""
    top = np.full(len(PARAMETERS), FURTHEST)
    top[PARAMETERS.index("sees_element")] = math.log(_MOST_SEEN / start.sees_element)
    return top


def _scatter(values: Any) -> float:
    """Return the standard deviation of white noise on a smooth curve (median of its second differences).

    0.6745 is the quartile of the normal distribution; a second difference of white noise has six variances.
    """
    return float(np.median(np.abs(np.diff(values, 2)))) / 0.6745 / math.sqrt(6.0)


def _answer(task: dict[str, Any]) -> dict[str, Any]:
    start = OvenModel.from_dict(task["start"])
    record = task["process_c"], task["heat"], task["ambient_c"], task["dt_s"]
    try:
        if task.get("cooling"):
            return {"model": fit_cooling(start, *record).to_dict()}
        done = fit(start, *record)
    except NoFit as e:
        return {"error": str(e)}
    return {
        "model": done.model.to_dict(),
        "residual_k": done.model.residual_k,
        "at_s": done.at_s,
        "curve_c": done.curve_c,
        "measured_c": done.measured_c,
    }


if __name__ == "__main__":
    json.dump(_answer(json.load(sys.stdin)), sys.stdout)
