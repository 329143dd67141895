"""Hardness after a temper: figure hardness."""

import math
import re
from typing import TYPE_CHECKING

from kilnctl.cli.figure.figure_answer import FigureAnswer, show
from kilnctl.cli.figure.inputs import Quantity, heat_c, metal, time_s
from kilnctl.cli.terminal.options import Json
from kilnctl.errors import ConfigError
from kilnctl.units import say_duration, say_point

if TYPE_CHECKING:
    from kilnctl.treatment.steel.steels import Steel

_TEMPER = re.compile(r"(.+?[CcFf])[\s,]+(\d.*)")
MEASURED_S = (600.0, 24 * 3600.0)  # of the published series; a ladder's 1-2 h lie inside


def hardness(
    temperature: Quantity,
    time: Quantity,
    /,
    *,
    steel: str | None = None,
    carbon: float | None = None,
    then: list[str] | None = None,
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
    then
        A further temper, before or after: "205C 2h"; say it again for a third. The coolest is taken for the
        one that was planned, and what the others cost is told source by source.
    as_json
        Print one JSON object.
    """
    from kilnctl.profile.segments import say_goal
    from kilnctl.treatment.steel.temper.temper_floor import cold_warnings
    from kilnctl.treatment.steel.temper.tempered_hardness import hardness_after

    at_c, hold_s = heat_c(temperature), time_s(time)
    card, percent, words = metal(steel, carbon)
    if then:
        tempers = [(at_c, hold_s), *(_further(text) for text in then)]
        return show(_after_all(card, percent, words, tempers), as_json)
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


def _further(text: str) -> tuple[float, float]:
    """Return a further temper as typed: "205C 2h", "2 h at 205 C". Raises ConfigError where it is none."""
    hold, at, heat = text.partition(" at ")
    match = _TEMPER.fullmatch(f"{heat} {hold}".strip() if at else text.strip())
    if match is None:
        raise ConfigError(f'cannot read "{text}" as a temper; write it like --then "205C 2h"')
    return heat_c(match[1]), time_s(match[2])


def _after_all(
    card: "Steel | None", percent: float, words: str, tempers: list[tuple[float, float]]
) -> FigureAnswer:
    """Return how hard several tempers leave a part, and what the hotter cost beside the coolest alone."""
    from kilnctl.profile.segments import say_goal
    from kilnctl.treatment.steel.temper.tempered_hardness import hardness_after_all

    coolest, hottest_c = min(tempers), max(tempers)[0]
    planned = {read.source: read for read in hardness_after_all(card, percent, [coolest])}
    now = hardness_after_all(card, percent, tempers)
    low, high = min(read.low_hrc for read in now), max(read.high_hrc for read in now)
    lost = {
        read.source: (was.low_hrc + was.high_hrc - read.low_hrc - read.high_hrc) / 2.0
        for read in now
        if (was := planned.get(read.source))
    }
    alone = f"{say_duration(coolest[1])} at {say_point(coolest[0])}"
    each = " and ".join(f"{say_duration(hold_s)} at {say_point(at_c)}" for at_c, hold_s in tempers)
    rows = [("now", f"{say_goal((round(low), round(high)))}, by all sources together")]
    for read in now:
        was, span = planned.get(read.source), f"{read.low_hrc:.1f}-{read.high_hrc:.1f} HRC now"
        cost = (
            "" if was is None else f", {lost[read.source]:.1f} lost of {was.low_hrc:.1f}-{was.high_hrc:.1f}"
        )
        rows.append(("of these", f"{span}{cost}: {read.source}"))
    return FigureAnswer(
        asked=f"{words} after {each}:",
        rows=(rows[0], ("lost", f"{_say_lost(lost)} beside {alone} alone"), *rows[1:]),
        source="beside each range; tempers added at equal parameter (Hollomon and Jaffe 1945)",
        assumed="fully hardened before the first; what is lost no cooler temper brings back; test the part",
        data={"low_hrc": low, "high_hrc": high, "lost_hrc": lost},
        beware=() if card is None else _of_the_card(card, hottest_c),
    )


def _say_lost(lost: dict[str, float]) -> str:
    """Return from where to where the sources put a loss."""
    if not lost:
        return "no source says how much,"
    low, high = f"{min(lost.values()):.1f}", f"{max(lost.values()):.1f}"
    return f"{low} HRC" if low == high else f"{low}-{high} HRC"


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
