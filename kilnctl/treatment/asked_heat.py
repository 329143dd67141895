"""A heat that somebody names for a steel, held against its card: inside, too hot, too cold, and what follows.

What too hot and too cold do is common practice where no source of the card says it.
"""

from collections.abc import Callable, Mapping
from typing import Literal

from kilnctl.treatment.steel.hardness import TWO_TEMPERS_S, expected_hrc, said_span
from kilnctl.treatment.steel.overheated import overheated_words, source_of
from kilnctl.treatment.steel.sourced_values import PRACTICE, BandC
from kilnctl.treatment.steel.steels import SourcedAnneal, Steel, ac1_c, span_c
from kilnctl.treatment.steel.temper.temper_floor import LITTLE_RELIEF, WARNED_BELOW_C, too_cold
from kilnctl.treatment.steel.windows import ROUNDED_K, hardening_heats_c, temper_top_c
from kilnctl.units import say_point

Step = Literal["harden", "normalise", "anneal", "stress relief", "temper", "preheat", "forge"]
NO_TEMPER_FROM_C = 650.0  # no temper table of tool steel goes further (handbook practice)
TOO_HOT: Mapping[Step, str] = {
    "normalise": "the grain grows, and scale and lost carbon with it",
    "anneal": "more carbide dissolves, it comes out harder and coarser; cool it slower than the card says",
    "stress relief": "it softens, and above the start of austenite it hardens as it cools",
    "preheat": "the surface transforms before the middle: it may warp",
    "forge": "the grain grows, and an edge that sparks is burnt",
}
TOO_COLD: Mapping[Step, str] = {
    "normalise": "old grain and carbide stay",
    "anneal": "it stays harder than annealed",
    "stress relief": "less of the stress goes",
    "preheat": "it evens out less before the fast heat",
    "forge": "it may crack under the hammer",
}


def compared(steel: Steel, at_c: float, step: Step | None = None) -> str:
    """Return one line that says where a heat lies for a step of a steel, and by whom.

    A heat too cool to harden anything is taken for a temper where no step is named.
    """
    step = step or usual_step(at_c)
    judge = _JUDGES.get(step)
    said = judge(steel, at_c) if judge else _by_bands(steel, at_c, step)
    return f"{say_point(at_c)} to {step} {steel.grade}: {said}"


def usual_step(at_c: float) -> Step:
    """Return what a heat of which no step is named is for: too cool to harden anything, it is a temper."""
    return "temper" if at_c <= NO_TEMPER_FROM_C else "harden"


def nearest_step(steel: Steel, at_c: float, steps: tuple[Step, ...]) -> Step | None:
    """Return which of several steps a heat is likely meant for: that of the nearest window, None of none."""
    return min(steps, key=lambda step: _off_k(at_c, _window_c(steel, step)), default=None)


def _off_k(at_c: float, window: tuple[float, float] | None) -> float:
    return 1e4 if window is None else max(window[0] - at_c, at_c - window[1], 0.0)


def _bands(steel: Steel, step: Step) -> tuple[BandC, ...]:
    named: dict[Step, tuple[BandC, ...]] = {
        "harden": steel.austenitise,
        "normalise": steel.normalise,
        "anneal": steel.anneal,
        "stress relief": steel.stress_relief,
        "preheat": steel.preheat,
        "forge": steel.forge,
    }
    return named.get(step, ())


def _window_c(steel: Steel, step: Step) -> tuple[float, float] | None:
    if step == "temper":
        return WARNED_BELOW_C, temper_top_c(steel)
    return hardening_heats_c(steel) if step == "harden" else span_c(_bands(steel, step))


def _span(low_c: float, high_c: float) -> str:
    return say_point(low_c) if low_c == high_c else f"{say_point(low_c)} to {say_point(high_c)}"


def _cited(steel: Steel, bands: tuple[BandC, ...]) -> str:
    return "; ".join(dict.fromkeys(steel.cite(band) for band in bands))


def _by_bands(steel: Steel, at_c: float, step: Step) -> str:
    """Return where a heat lies for a step that the card gives as ranges."""
    if step == "normalise" and steel.do_not_normalise is not None:
        return f"DO NOT, at no heat ({steel.cite(steel.do_not_normalise)})"
    bands = _bands(steel, step)
    window = span_c(bands)
    if window is None:
        return "its card gives no heat for that"
    inside = tuple(band for band in bands if band.holds(at_c, ROUNDED_K))
    if inside:
        return f"inside the card's {_span(*span_c(inside) or window)} ({_cited(steel, inside)})"
    card = f"the card says {_span(*window)} ({_cited(steel, bands)})"
    if at_c > window[1]:
        return f"TOO HOT by {at_c - window[1]:.0f} K, {card}: {TOO_HOT[step]} ({PRACTICE})"
    if at_c < window[0]:
        return f"TOO COLD by {window[0] - at_c:.0f} K, {card}: {TOO_COLD[step]} ({PRACTICE})"
    return f"between the ranges of its sources: {'; '.join(_each(steel, bands))}"


def _each(steel: Steel, bands: tuple[BandC, ...]) -> list[str]:
    kinds = [f"{band.type} " if isinstance(band, SourcedAnneal) else "" for band in bands]
    return [f"{kind}{band.words} ({steel.cite(band)})" for kind, band in zip(kinds, bands, strict=True)]


def _hardened(steel: Steel, at_c: float) -> str:
    """Return where a heat lies among the hardening heats of a card."""
    window = hardening_heats_c(steel)
    if window is None:
        return "its card gives no heat for that"
    inside = tuple(band for band in steel.austenitise if band.holds(at_c, ROUNDED_K))
    if at_c > window[1] + ROUNDED_K:
        limits = tuple(limit for limit in steel.too_hot if at_c > limit.low_c) or steel.austenitise
        return f"TOO HOT, {overheated_words(steel, at_c)} ({source_of(steel)}; {_cited(steel, limits)})"
    if inside:
        return f"inside the card's {_span(*window)} ({_cited(steel, inside)})"
    card = f"the card says {_span(*window)} ({_cited(steel, steel.austenitise)})"
    if at_c >= window[0] - ROUNDED_K:
        each = "; ".join(_each(steel, steel.austenitise))
        return f"inside the card's {_span(*window)}, between what its sources give ({each})"
    start_c = ac1_c(steel)
    below = start_c is not None and at_c < start_c
    soft = f"below the start of austenite ({_start(steel)}) it does not harden at all" if below else ""
    soft = soft or "too little carbon dissolves, it comes out soft or in soft spots"
    return f"TOO COLD by {window[0] - at_c:.0f} K, {card}: {soft} ({PRACTICE}). Do not quench: heat on"


def _start(steel: Steel) -> str:
    """Return where austenite starts by the lowest figure of the card, with who says so."""
    points = (point for point in steel.points if point.point in ("Ac1", "austenite starts"))
    lowest = min(points, key=lambda point: point.low_c)
    return f"{lowest.low_c:.0f} °C, {steel.cite(lowest)}"


def _tempered(steel: Steel, at_c: float) -> str:
    """Return what a temper at a heat does: the hardness by every source, or why it is none."""
    start_c, top_c = ac1_c(steel), temper_top_c(steel)
    if too_cold(at_c):
        return f"TOO COLD: {LITTLE_RELIEF}"
    if start_c is not None and at_c >= start_c:
        return f"TOO HOT: austenite starts at {_start(steel)}, that is no temper, and its hardness is lost"
    if at_c > top_c + 0.5:
        return f"TOO HOT: no temper of its card is above {say_point(top_c)}, it gets softer ({PRACTICE})"
    read = expected_hrc(steel, at_c, TWO_TEMPERS_S)
    each = "; ".join(f"{said_span((e.low_hrc, e.high_hrc))} HRC by {e.source}" for e in read)
    spoilt = [band for band in steel.spoils if band.holds(at_c)]
    lost = "".join(f"; AVOID {band.words}, toughness is lost ({steel.cite(band)})" for band in spoilt)
    cool = f"; TOO COLD: {LITTLE_RELIEF}" if at_c < WARNED_BELOW_C else ""
    return f"{each or _beyond_tables(steel)}{lost}{cool}"


def _beyond_tables(steel: Steel) -> str:
    ends_c = max((table.row[-1].at_c for table in steel.temper_table), default=None)
    if ends_c is None:
        return "its card has no temper table"
    return f"TOO HOT for its temper tables, which end at {say_point(ends_c)}: softer than any of them says"


_JUDGES: Mapping[Step, Callable[[Steel, float], str]] = {"harden": _hardened, "temper": _tempered}
