"""How long a part lies in the hot furnace before the quench: figure soak."""

import re
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from kilnctl.cli.figure.figure_answer import FigureAnswer, say_span_c, say_times, show
from kilnctl.cli.figure.inputs import Quantity, heat_c, size_mm
from kilnctl.cli.terminal.options import Json
from kilnctl.errors import ConfigError
from kilnctl.units import say_mm, say_point

if TYPE_CHECKING:
    from kilnctl.treatment.steel.steels import Steel

NEAR_K = 5.0
LONGER = "longer and hotter is not safer: the grain grows, and a bare skin loses carbon"
BARE = "bare it scales and loses its skin at this heat: foil, or a coating"
USUAL_S = 600.0
# A sheet that counts by thickness from shutting the door has its rows in the note: "2.5 mm 5 min, 3.0: 6".
IN_FURNACE = "total time in the hot furnace"
_ROW = re.compile(r"(\d+(?:\.\d+)?)(?: mm|:) (\d+)(?: min)?")
USUAL = "10 min for a thin section: common practice"


@dataclass(frozen=True, slots=True)
class CardSoak:
    """A soak as a card has it: from least to most, s, who says so, and what is noted beside it."""

    span: tuple[float, float]
    source: str
    note: str


def soak(
    thickness: Quantity,
    /,
    *,
    steel: str,
    at: Quantity | None = None,
    shape: Literal["plate", "square", "round"] = "plate",
    surface: Literal["bare", "bright", "coated", "foil"] = "bare",
    as_json: Json = False,
) -> int:
    """Say how long a part soaks at its hardening heat, and how long it lies in the hot furnace in all.

    Parameters
    ----------
    thickness
        Its thickest place ("6 mm", "1/4 in").
    steel
        A grade.
    at
        The hardening heat; left out, the card's.
    shape
        plate, square or round; long beside its thickness.
    surface
        bare (dark with scale), bright (ground), coated, or foil.
    as_json
        Print one JSON object.
    """
    from kilnctl.treatment.steel.steels import load_steel
    from kilnctl.treatment.steel.through_heating import ESTIMATE, bar, within_s
    from kilnctl.treatment.steel.windows import hardening_heats_c
    from kilnctl.treatment.steel_selection import FOIL_KINDS

    card, thick_mm = load_steel(steel), size_mm(thickness)
    window = hardening_heats_c(card)
    at_c = card.austenitise[0].middle_c if at is None else heat_c(at)
    if window and not window[0] - NEAR_K <= at_c <= window[1] + NEAR_K:
        raise ConfigError(_no_hardening_heat(card.grade, window, at_c))
    soaks = _soaks(card, thick_mm, at_c)
    by_row = _by_row(card, thick_mm)
    spans, sources = [soak.span for soak in soaks], dict.fromkeys(soak.source for soak in soaks)
    warm_s = within_s(bar(shape, thick_mm, surface, False, False, at_c), at_c, NEAR_K, 20.0)
    low_s, high_s = min(low for low, _ in spans), max(high for _, high in spans)
    in_all = (warm_s * (1 - ESTIMATE) + spans[0][0], warm_s * (1 + ESTIMATE) + spans[0][1])
    rows = [
        *((("by its sheet", by_row[1]),) if by_row else ()),
        (
            "hardening heat",
            f"{say_point(at_c)}; the card has {say_span_c(*window)}" if window else say_point(at_c),
        ),
        ("through", f"{say_times(warm_s, warm_s)} until the core is within {NEAR_K:.0f} K, good to a fifth"),
        *map(_soak_row, soaks),
        ("in all", f"{say_times(*in_all)} from shutting the door on the cold part, by the first soak"),
    ]
    preheats = ", ".join(claim.words for claim in card.preheat)
    rows += [("preheat", f"{preheats}: until it is even")] if preheats else []
    return show(
        FigureAnswer(
            asked=f"{card.grade}, {shape} of {say_mm(thick_mm)}, {surface}, into a furnace at heat:",
            rows=tuple(rows),
            source="; ".join(sources) + "; radiation and film; EN 1993-1-2:2005, 3.4.1",
            assumed=(
                "one part; the furnace keeps its heat as the door opens; the clock of the soak starts when "
                "the core is there"
            ),
            data={
                "at_c": at_c,
                "through_s": warm_s,
                "soak_low_s": low_s,
                "soak_high_s": high_s,
                "in_all_low_s": in_all[0],
                "in_all_high_s": in_all[1],
                "by_its_sheet_s": by_row[0] if by_row else None,
            },
            beware=(LONGER, *((BARE,) if surface == "bare" and card.kind in FOIL_KINDS else ())),
        ),
        as_json,
    )


def _no_hardening_heat(grade: str, window: tuple[float, float], at_c: float) -> str:
    return (
        f"{grade} hardens from {window[0]:.0f}-{window[1]:.0f} C, not from {at_c:.0f} C: "
        f"`kilnctl figure quenched {at_c:.0f}C --steel {grade}` says what that does"
    )


def _soak_row(soak: CardSoak) -> tuple[str, str]:
    return "soak at heat", say_times(*soak.span) + (f" [{soak.note}]" if soak.note else "")


def _by_row(card: "Steel", thick_mm: float) -> tuple[float, str] | None:
    """Return the time in the hot furnace, s, by the sheet that counts it by thickness, with its words.

    Between two rows it is read off the line between them; a thinner part has the first row as its most.
    """
    for claim in card.austenitise:
        rows = [(float(mm), float(minutes)) for mm, minutes in _ROW.findall(claim.note)]
        if IN_FURNACE not in claim.note or not rows or thick_mm > rows[-1][0]:
            continue
        minutes, most = rows[0][1], "at the most " if thick_mm < rows[0][0] else ""
        for (low_mm, low), (high_mm, high) in pairwise(rows):
            if low_mm <= thick_mm <= high_mm:
                minutes = low + (high - low) * (thick_mm - low_mm) / (high_mm - low_mm)
        sister = " of a sister grade" if "sister grade" in claim.note else ""
        said = f"{most}{say_times(60.0 * minutes, 60.0 * minutes)} from shutting the door, at {claim.words}"
        return 60.0 * minutes, f"{said} [table by thickness{sister}, {card.cite(claim)}; no soak on top]"
    return None


def _soaks(card: "Steel", thick_mm: float, at_c: float) -> list[CardSoak]:
    """Return the card's soaks for a thickness, those for the heat that is asked for first."""
    found = []
    for claim in sorted(card.austenitise, key=lambda claim: not claim.holds(at_c, NEAR_K)):
        if claim.soak_low_s is not None:
            by_inch_s = (claim.per_inch_s or 0.0) * thick_mm / 25.4
            high_s = claim.soak_high_s or claim.soak_low_s
            span = (max(claim.soak_low_s, by_inch_s), max(high_s, by_inch_s))
            found.append(CardSoak(span, card.cite(claim), claim.note))
    return found or [CardSoak((USUAL_S, USUAL_S), USUAL, "")]
