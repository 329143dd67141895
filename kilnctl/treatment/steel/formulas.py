"""Published formulas for critical points and retained austenite, each shown only where it holds.

Andrews 1965 for Ac1, Ac3 and Ms, to about 0.6 % C (a limit known from memory) and never for high-alloy or
stainless grades; van Bohemen 2012 (the year from memory) for Ms, with the carbon that is dissolved; Koistinen
and Marburger 1959 for retained austenite; Lement 1959 for the growth in hardening. Weight per cent in, degC
out. Any Ms is good to 20 K at best.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from kilnctl.treatment.steel.steels import Steel

ANDREWS_UP_TO_CARBON = 0.6
ROOM_C = 22.0
GROWTH_SOURCE = "Lement, Distortion in Tool Steels, ASM 1959 (from memory): a third of the growth in volume"
# Carbide of the whole carbon is 15 % by weight of steel for each per cent of it (Fe3C has 6.67 % C).
_CARBIDE_PER_CARBON = 15.0
MS_BAND_K = 20.0
Percent = Mapping[str, float]


def andrews_ac1_c(percent: Percent) -> float:
    """Return Ac1 = 723 - 10.7Mn - 16.9Ni + 29.1Si + 16.9Cr + 290As + 6.38W (Andrews 1965)."""
    return 723.0 + _sum(percent, {"Mn": -10.7, "Ni": -16.9, "Si": 29.1, "Cr": 16.9, "As": 290.0, "W": 6.38})


def andrews_ac3_c(percent: Percent) -> float:
    """Return Ac3 = 910 - 203 sqrt(C) and the slopes below (Andrews 1965), below the eutectoid only."""
    slopes = {
        "Ni": -15.2,
        "Si": 44.7,
        "V": 104.0,
        "Mo": 31.5,
        "W": 13.1,
        "Mn": -30.0,
        "Cr": -11.0,
        "Cu": -20.0,
        "P": 700.0,
        "Al": 400.0,
        "As": 120.0,
        "Ti": 400.0,
    }
    return 910.0 - 203.0 * math.sqrt(percent.get("C", 0.0)) + _sum(percent, slopes)


def andrews_ms_c(percent: Percent) -> float:
    """Return Ms in Andrews' linear form: 539 - 423C - 30.4Mn - 12.1Cr - 17.7Ni - 7.5Mo (1965)."""
    return 539.0 + _sum(percent, {"C": -423.0, "Mn": -30.4, "Cr": -12.1, "Ni": -17.7, "Mo": -7.5})


def van_bohemen_ms_c(percent: Percent) -> float:
    """Return 565 - 600(1 - exp(-0.96C)) - 31Mn - 13Si - 10Cr - 18Ni - 12Mo, C dissolved (van Bohemen)."""
    carbon = 600.0 * -math.expm1(-0.96 * percent.get("C", 0.0))
    return 565.0 - carbon + _sum(percent, {"Mn": -31.0, "Si": -13.0, "Cr": -10.0, "Ni": -18.0, "Mo": -12.0})


def retained_austenite(ms_c: float, quenched_to_c: float) -> float:
    """Return the austenite left, exp(-0.011(Ms - Tq)), 1 at and above Ms (Koistinen and Marburger 1959)."""
    return math.exp(-0.011 * max(0.0, ms_c - quenched_to_c))


def _sum(percent: Percent, slopes: Percent) -> float:
    return sum(slope * percent.get(element, 0.0) for element, slope in slopes.items())


@dataclass(frozen=True, slots=True)
class Quenched:
    """What an austenitising temperature leaves after the quench: dissolved carbon, Ms, retained austenite."""

    carbon: float
    ms_c: float
    retained: float
    source: str


def composition(steel: Steel) -> dict[str, float]:
    """Return the typical composition of a card."""
    return {element: claim.typical for element, claim in steel.composition.items()}


def andrews_holds(steel: Steel) -> bool:
    """True where Andrews' formulas may be shown for a steel."""
    return steel.kind in ("plain carbon", "low alloy") and steel.carbon <= ANDREWS_UP_TO_CARBON


def after_quench(steel: Steel, austenitised_c: float, quenched_to_c: float = ROOM_C) -> Quenched | None:
    """Return what is expected after a quench, or None where nothing honest can be said.

    Dissolved carbon comes from the card's computed rows, between them; never for high-alloy or stainless.
    """
    carbon = dissolved_carbon(steel, austenitised_c)
    if steel.kind not in ("plain carbon", "low alloy") or carbon is None:
        return None
    ms_c = van_bohemen_ms_c({**composition(steel), "C": carbon})
    return Quenched(
        carbon, ms_c, retained_austenite(ms_c, quenched_to_c), "van Bohemen; Koistinen-Marburger 1959"
    )


def dissolved_carbon(steel: Steel, at_c: float) -> float | None:
    """Return the carbon dissolved at a heat from the card's rows, between them; None outside them."""
    rows = steel.dissolved
    if not rows or not rows[0].at_c - 5.0 <= at_c <= rows[-1].at_c + 5.0:
        return None
    at_c = min(max(at_c, rows[0].at_c), rows[-1].at_c)
    for low, high in pairwise(rows):
        if at_c <= high.at_c:
            share = (at_c - low.at_c) / (high.at_c - low.at_c)
            return low.percent + (high.percent - low.percent) * share
    return rows[-1].percent


@dataclass(frozen=True, slots=True)
class Growth:
    """Growth in length for good, in per cent, from least to most, and who says so."""

    low_percent: float
    high_percent: float
    source: str


def martensite_percent(dissolved: float, retained: float, total: float) -> float:
    """Return the growth in length, per cent, of spheroidised steel that is hardened (after Lement).

    `dissolved` and `total` are carbon in per cent, `retained` is the share of austenite left. Negative is a
    shrinkage.
    """
    carbide = _CARBIDE_PER_CARBON * max(0.0, total - dissolved) / 100.0
    martensite = 1.0 - carbide - retained
    return (martensite * 1.68 * dissolved + retained * (-4.64 + 2.21 * dissolved)) / 3.0


def growth(steel: Steel, at_c: float) -> tuple[Growth, ...]:
    """Return how much a grade grows when it is hardened from a heat: by its card's sources, then computed.

    Empty where the card has none and nothing can be computed, as for high alloy steel.
    """
    found = [
        Growth(g.low_percent, g.high_percent, f"{steel.cite(g)}{f' ({g.note})' if g.note else ''}")
        for g in steel.growth
    ]
    quenched = after_quench(steel, at_c)
    if quenched is not None:
        left = [retained_austenite(quenched.ms_c + k, ROOM_C) for k in (-MS_BAND_K, MS_BAND_K)]
        ends = sorted(martensite_percent(quenched.carbon, share, steel.carbon) for share in left)
        found.append(Growth(ends[0], ends[1], GROWTH_SOURCE))
    return tuple(found)
