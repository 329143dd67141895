"""Hardness after a temper: figure hardness."""

import math
from typing import TYPE_CHECKING

from kilnctl.cli.figure.figure_answer import FigureAnswer, show
from kilnctl.cli.figure.inputs import Quantity, heat_c, metal, time_s
from kilnctl.cli.terminal.options import Json
from kilnctl.units import say_duration, say_point

if TYPE_CHECKING:
    from kilnctl.treatment.steel.steels import Steel

MEASURED_S = (600.0, 24 * 3600.0)  # of the published series; a ladder's 1-2 h lie inside


def hardness(
    temperature: Quantity,
    time: Quantity,
    /,
    *,
    steel: str | None = None,
    carbon: float | None = None,
    as_json: Json = False,
) -> int:
    """Predict the hardness after a time at a temperature, from every source.

    Parameters
    ----------
    temperature
        The temperature of the temper.
    time
        How long, all tempers at it together.
    steel
        A grade.
    carbon
        Carbon in per cent of a plain carbon steel without a card.
    as_json
        Print one JSON object.
    """
    from kilnctl.profile.segments import say_goal
    from kilnctl.treatment.steel.temper_floor import cold_warnings
    from kilnctl.treatment.steel.tempered_hardness import hardness_after

    at_c, hold_s = heat_c(temperature), time_s(time)
    card, percent, words = metal(steel, carbon)
    found = hardness_after(card, percent, at_c, hold_s)
    low, high = min(e.low_hrc for e in found), max(e.high_hrc for e in found)
    own = None if card is None else _by_own(card, at_c, hold_s)
    rows = (
        *(() if own is None else (own[0],)),
        ("expect", say_goal((round(low), round(high)))),
        *((f"{e.low_hrc:.1f}-{e.high_hrc:.1f} HRC", e.source) for e in found),
    )
    return show(
        FigureAnswer(
            asked=f"{words} after {say_duration(hold_s)} at {say_point(at_c)}:",
            rows=rows,
            source="beside each range",
            assumed=(
                "fully hardened before; a ladder that prints no time means 1-2 h, other times by "
                "Hollomon and Jaffe 1945; a maker's quench is often weaker: test the part"
            ),
            data={
                "low_hrc": low,
                "high_hrc": high,
                "sources": [
                    {"low_hrc": e.low_hrc, "high_hrc": e.high_hrc, "source": e.source} for e in found
                ],
                **({} if own is None else own[1]),
            },
            beware=_beyond_measured(hold_s)
            + cold_warnings(at_c)
            + (() if card is None else _of_the_card(card, at_c)),
        ),
        as_json,
    )


def _by_own(card: "Steel", at_c: float, hold_s: float) -> tuple[tuple[str, str], dict[str, object]] | None:
    """Return what the shop's own results say, as a row and as data; None with too few of them."""
    from kilnctl.cli.plan.plan_timing import own_fit
    from kilnctl.treatment.steel.own_words import say_counts

    fit = own_fit(card)
    if fit is None or math.isnan((found := fit.hrc(at_c, hold_s))[0]):
        return None
    said = f"{found[0]:.1f} ± {found[1]:.1f} HRC ({say_counts(fit.counts)})"
    return ("your own", said), {"own_hrc": found[0], "own_error_hrc": found[1]}


def _of_the_card(card: "Steel", at_c: float) -> tuple[str, ...]:
    """Return what the card says against a temper of that heat."""
    bands = (band for band in card.spoils if band.low_c <= at_c <= band.high_c)
    spoiled = tuple(f"{band.words} spoils toughness: {card.cite(band)}" for band in bands)
    return (*spoiled, *card.temper_cautions(at_c))


def _beyond_measured(hold_s: float) -> tuple[str, ...]:
    """Return what a time outside every measured series is worth."""
    low_s, high_s = MEASURED_S
    if low_s <= hold_s <= high_s:
        return ()
    return (
        "no series was measured for so short or so long a time: read by equal parameter only. A spark or a "
        "torch heats unevenly: the colour shows where, a file how soft",
    )
