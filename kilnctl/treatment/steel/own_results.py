"""The shop's own measured hardness beside what is published: one regression, its error, what lies outside.

hardness = published(T, t) + shift + tilt (P - P0) + scatter, P = T_K(16 + log10 t_h)/1000 (Hollomon, Jaffe).
Shift and tilt start from nothing, as uncertain as published ladders differ (1.55 HRC: the fit with one steel
left out; a tilt of a seventh of the usual slope), and every own result pulls them by its weight (Bayesian
linear regression, normal priors). The stated error is twice the standard deviation of the next part; a shop
whose results differ by more than tester and parts explain has it larger by Birge's ratio (1932).
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from kilnctl.treatment.steel.hardness import FIT_ERROR_HRC, plain_carbon_hrc
from kilnctl.treatment.steel.steels import Steel
from kilnctl.treatment.steel.temper.dose import MEASURED_CONSTANT, parameter
from kilnctl.treatment.steel.temper.temper_floor import SOUND_FROM_C
from kilnctl.treatment.steel.temper.tempered_hardness import hardness_of_tables

if TYPE_CHECKING:  # every plan names these types; only a shop with results of its own needs the library
    import numpy as np
    from numpy.typing import NDArray

LEAST_RESULTS = 3
TILT_SD = 0.6  # HRC per unit of P, whose usual slope is 4
# A part differs from its sister by about half an HRC (common practice, no single source).
PARTS_DIFFER_HRC = 0.5
FAR_SIGMA, FAR_HRC = 3.0, 2.5
FEW_OUTSIDE = 5  # one in so many may be a slip
FIT_ROWS = 91
Base = Callable[[float, float], float | None]


@dataclass(frozen=True, slots=True)
class OwnResult:
    """One part's measured hardness after its temper; `error_hrc` is the tester's standard deviation."""

    part: str
    at_c: float
    time_s: float
    hrc: float
    error_hrc: float = 1.0


@dataclass(frozen=True, slots=True)
class RestsOn:
    """What an answer rests on: own results, rows of the card's ladders, rows of the published series."""

    own: int
    table: int = 0
    series: int = 0


@dataclass(frozen=True, slots=True)
class OwnTemper:
    """The temper for a goal by own results: degC, and between where its error puts it."""

    at_c: float
    low_c: float
    high_c: float
    error_hrc: float


@dataclass(frozen=True, slots=True)
class OwnFit:
    """A shop's regression for one grade. `outside` are results far from all others: named, not used.

    `scatter` is Birge's ratio, 1 where tester and parts explain what is left.
    """

    base: Base
    counts: RestsOn
    middle_p: float
    coefficients: "NDArray[np.float64]"
    covariance: "NDArray[np.float64]"
    outside: tuple[tuple[OwnResult, float], ...] = ()
    scatter: float = 1.0

    def hrc(self, at_c: float, time_s: float) -> tuple[float, float]:
        """Return the hardness to expect and its error (two standard deviations), HRC; NaN out of reach."""
        published = self.base(at_c, time_s)
        row = _row(at_c, time_s, self.middle_p)
        variance = float(row @ self.covariance @ row) + PARTS_DIFFER_HRC**2
        middle = math.nan if published is None else published + float(row @ self.coefficients)
        return middle, 2.0 * self.scatter * math.sqrt(variance)

    def temper_c(
        self, goal_hrc: float, time_s: float, steps_c: Sequence[int] = range(round(SOUND_FROM_C), 411)
    ) -> OwnTemper | None:
        """Return the temper for a goal, None where nothing in reach gives it."""
        found = [(float(c), *self.hrc(float(c), time_s)) for c in steps_c]
        ladder = [(c, middle, error) for c, middle, error in found if not math.isnan(middle)]
        if not ladder or not ladder[-1][1] - 0.5 <= goal_hrc <= ladder[0][1] + 0.5:
            return None

        def nearest(hrc: float) -> tuple[float, float, float]:
            return min(ladder, key=lambda step: abs(step[1] - hrc))

        at_c, _, error = nearest(goal_hrc)
        return OwnTemper(at_c, nearest(goal_hrc + error)[0], nearest(goal_hrc - error)[0], error)


def base_of(steel: Steel) -> Base:
    """Return what is published of a grade as one curve: the mean of its ladders and the fitted series."""

    def published(at_c: float, time_s: float) -> float | None:
        middles = [(e.low_hrc + e.high_hrc) / 2 for e in hardness_of_tables(steel, at_c, time_s)]
        fitted = plain_carbon_hrc(steel.carbon, at_c, time_s) if steel.kind == "plain carbon" else None
        middles += [] if fitted is None else [fitted]
        return sum(middles) / len(middles) if middles else None

    return published


def counts_of(steel: Steel, own: int) -> RestsOn:
    """Return what an answer for a grade rests on."""
    series = FIT_ROWS if steel.kind == "plain carbon" else 0
    return RestsOn(own, sum(len(table.row) for table in steel.temper_table), series)


def fit_own(base: Base, results: Sequence[OwnResult]) -> OwnFit | None:
    """Return the regression over own results, None with fewer than three that the published curve reaches."""
    kept = [r for r in results if base(r.at_c, r.time_s) is not None]
    outside: list[tuple[OwnResult, float]] = []
    while len(kept) > LEAST_RESULTS:
        furthest = max(kept, key=lambda r: _apart(base, kept, r)[0])
        sigmas, apart_hrc = _apart(base, kept, furthest)
        if sigmas < FAR_SIGMA or abs(apart_hrc) < FAR_HRC:
            break
        kept.remove(furthest)
        outside.append((furthest, apart_hrc))
    if len(outside) > max(1, len(results) // FEW_OUTSIDE):  # that many are no slips: the shop scatters
        kept, outside = [*kept, *(one for one, _ in outside)], []
    if len(kept) < LEAST_RESULTS:
        return None
    fit = _fitted(base, kept, tuple(outside))
    return replace(fit, scatter=_birge(fit, kept))


def _birge(fit: OwnFit, kept: Sequence[OwnResult]) -> float:
    """Return how much wider the results lie than their errors say, never below 1 (Birge 1932)."""
    squares = 0.0
    for one in kept:
        apart_hrc = one.hrc - fit.hrc(one.at_c, one.time_s)[0]
        squares += apart_hrc**2 / (one.error_hrc**2 + PARTS_DIFFER_HRC**2)
    return max(1.0, math.sqrt(squares / (len(kept) - 1)))


def _apart(base: Base, kept: Sequence[OwnResult], one: OwnResult) -> tuple[float, float]:
    """Return how far a result lies from what all others say, in standard deviations and in HRC."""
    others = _fitted(base, [r for r in kept if r is not one], ())
    expected, error = others.hrc(one.at_c, one.time_s)
    apart_hrc = one.hrc - expected
    return abs(apart_hrc) / math.hypot(error / 2.0, one.error_hrc), apart_hrc


def _row(at_c: float, time_s: float, middle_p: float) -> list[float]:
    return [1.0, parameter(at_c, time_s, MEASURED_CONSTANT) - middle_p]


def _fitted(base: Base, results: Sequence[OwnResult], outside: tuple[tuple[OwnResult, float], ...]) -> OwnFit:
    import numpy as np

    middle_p = sum(parameter(r.at_c, r.time_s, MEASURED_CONSTANT) for r in results) / len(results)
    rows = np.array([_row(r.at_c, r.time_s, middle_p) for r in results])
    weights = np.array([1.0 / (r.error_hrc**2 + PARTS_DIFFER_HRC**2) for r in results])
    over = np.array([r.hrc - (base(r.at_c, r.time_s) or 0.0) for r in results])
    prior = np.diag([1.0 / FIT_ERROR_HRC**2, 1.0 / TILT_SD**2])
    covariance = np.linalg.inv(prior + (rows.T * weights) @ rows)
    return OwnFit(
        base, RestsOn(len(results)), middle_p, covariance @ (rows.T * weights) @ over, covariance, outside
    )
