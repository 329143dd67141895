"""The temper for a hardness: figure temper."""

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from kilnctl.cli.figure.figure_answer import FigureAnswer, say_span_c, show
from kilnctl.cli.figure.inputs import Quantity, metal, time_s
from kilnctl.cli.terminal.options import Json, refuse_unused
from kilnctl.units import say_duration, say_point

if TYPE_CHECKING:
    from kilnctl.treatment.steel.own_results import OwnTemper
    from kilnctl.treatment.steel.sourced_values import BandC
    from kilnctl.treatment.steel.steels import Steel
    from kilnctl.treatment.steel.temper.temper_choice import TemperChoice

VALLEY_K = 30.0  # a range is told in two where so much of it is softer by every table


def temper(
    goal: Quantity,
    /,
    *,
    steel: str | None = None,
    carbon: float | None = None,
    time: Quantity | None = None,
    as_json: Json = False,
) -> int:
    """Find the temperature to temper at for a hardness.

    Parameters
    ----------
    goal
        The hardness: 60, or 60-62 (HRC); 700HV, 341HB and 81HRA are turned into HRC.
    steel
        A grade.
    carbon
        Carbon in per cent of a plain carbon steel without a card.
    time
        How long it is tempered, with --carbon; left out, 2 hours.
    as_json
        Print one JSON object.
    """
    low, high, said = _goal(goal)
    card, percent, words = metal(steel, carbon)
    asked = f"{words} for {said}:"
    if card is not None:
        refuse_unused("the tables of a card have their own time", time=time)
        return show(_by_card_or_series(card, (low, high), asked), as_json)
    return show(_by_fit(percent, (low + high) / 2, time_s(time or "2h"), asked), as_json)


def _goal(text: str) -> tuple[float, float, str]:
    """Return a wanted hardness in HRC, and in words."""
    from kilnctl.treatment.steel.hardness import said_span
    from kilnctl.treatment.steel.hardness_scales import parse_hardness

    written = parse_hardness(text)
    low, high = written.hrc()
    if written.scale == "HRC":
        return low, high, written.words
    return low, high, f"{written.words}, which is {said_span((low, high))} HRC by ASTM E140"


def _by_card_or_series(card: "Steel", goal: tuple[float, float], asked: str) -> FigureAnswer:
    """Return the answer of a card; where no table of it reaches, that of the measured series, with the doubt.

    Raises ProfileError where neither reaches.
    """
    from kilnctl.errors import ProfileError
    from kilnctl.treatment.steel.hardness import TWO_TEMPERS_S

    try:
        return _by_card(card, goal, asked)
    except ProfileError as out_of_reach:
        if not (fitted_c := _fitted_c(card, sum(goal) / 2)):
            raise
        spoilt = (band for band in card.spoils if band.low_c <= fitted_c[0] <= band.high_c)
        only = f"{out_of_reach}. Only the measured series answer: begin at the cool end, and test"
        beware = (only, *(f"{band.words} spoils toughness: {card.cite(band)}" for band in spoilt))
    return replace(_by_fit(card.carbon, sum(goal) / 2, TWO_TEMPERS_S / 2, asked), beware=beware)


def _by_card(card: "Steel", goal: tuple[float, float], asked: str) -> FigureAnswer:
    from kilnctl.cli.plan.plan_timing import own_fit, own_results
    from kilnctl.treatment.steel.hardness import FIT_HOTTEST_C, PLUS_MINUS_HRC, TWO_TEMPERS_S
    from kilnctl.treatment.steel.own_words import outside_lines, say_answer, say_too_few
    from kilnctl.treatment.steel.temper.temper_choice import temper_choice
    from kilnctl.treatment.steel.temper.temper_soon import temper_soon_in_short

    found, own = temper_choice(card, goal), own_fit(card)
    fitted_c = _fitted_c(card, sum(goal) / 2)
    wide = [found, *_rounds_to(card, goal)]
    low_c = min((found.at_c, *(choice.low_c for choice in wide), *fitted_c[:1]))
    high_c = max((*(choice.high_c for choice in wide), *fitted_c[:1]))
    begin_c = _begin_c(card, found, goal)
    rows = [("temper", _told(card, found.at_c, begin_c)), ("range", _span(card, goal, low_c, high_c))]
    plan = [("plan", f"takes {say_point(found.at_c)}, by the source below")] * (begin_c < found.at_c)
    rows += [*plan, *(("elsewhere", other) for other in found.others)]
    if fitted_c:
        by_row = f"{say_span_c(*fitted_c[1:])} by its worst row"
        rows.append(("elsewhere", f"measured series (fit, 2 h): {say_point(fitted_c[0])}, {by_row}"))
    harder_hrc = _harder_by_the_series(card, found.at_c, sum(goal) / 2)
    if harder_hrc is not None:
        high_c = max(high_c, FIT_HOTTEST_C)
        rows[1] = ("range", _span(card, goal, low_c, high_c))
        told = f"{harder_hrc:.0f} HRC there; hotter than {FIT_HOTTEST_C:.0f} °C, where they end, for this"
        rows.append(("elsewhere", f"measured series (fit, 2 h): {told}"))
    rows[2:2] = [("expect", _expected(card, begin_c)), ("when", temper_soon_in_short(card))]
    hold_s = sum(rule.count_high * rule.time_s for rule in card.temper[:1]) or TWO_TEMPERS_S
    answer = None if own is None else own.temper_c(sum(goal) / 2, hold_s)
    own_data: dict[str, object] = {}
    if own is not None and answer is not None:
        rows.insert(0, ("your own", f"{say_answer(answer, goal, own.counts)}, {say_duration(hold_s)} in all"))
        own_data = {"own_at_c": answer.at_c, "own_error_hrc": answer.error_hrc, "own_results": own.counts.own}
    if own is None and (few := say_too_few(own_results(card))):
        rows.insert(0, ("your own", few))
    beware = outside_lines(own) if own is not None else ()
    beware += tuple(
        f"{band.words} spoils toughness{_inside(band, begin_c, answer)}: {card.cite(band)}"
        for band in card.spoils
    )
    beware += card.temper_cautions(begin_c) + _contradicted(card, begin_c, goal)
    beware = (*filter(None, (found.held,)), *beware)
    if found.far_rows_k:
        beware += (f"read between rows {found.far_rows_k:.0f} K apart: a guess, try a coupon",)
    return FigureAnswer(
        asked=asked,
        rows=tuple(rows),
        source=found.source,
        assumed=f"fully hardened; the time of the table; good to {PLUS_MINUS_HRC:.0f} HRC: test a part",
        data={"at_c": begin_c, "low_c": low_c, "high_c": high_c, "table_c": found.at_c, **own_data},
        beware=beware,
    )


def _span(card: "Steel", goal: tuple[float, float], low_c: float, high_c: float) -> str:
    """Say a range of tempers without what lies between two of them where every table is softer: a valley."""
    from kilnctl.treatment.steel.hardness import ROUNDED_HRC, table_hrc
    from kilnctl.treatment.steel.temper.joined_ladder import temper_ladders

    def soft(at_c: int) -> bool:
        spans = [span for ladder in temper_ladders(card) if (span := table_hrc(ladder, at_c)) is not None]
        return bool(spans) and all(high < goal[0] - ROUNDED_HRC for _, high in spans)

    inside = [at_c for at_c in range(round(low_c), round(high_c) + 1) if not soft(at_c)]
    starts = [b for a, b in pairwise(inside) if b - a > VALLEY_K]
    ends = [a for a, b in pairwise(inside) if b - a > VALLEY_K]
    if not starts:
        return say_span_c(low_c, high_c)
    pieces = zip([low_c, *starts], [*ends, high_c], strict=True)
    return ", or ".join(say_span_c(*piece) for piece in pieces) + ", not between"


def _begin_c(card: "Steel", choice: "TemperChoice", goal: tuple[float, float]) -> float:
    """Return the temper to begin with: that of the card's tables, or cooler where other sources say so."""
    from kilnctl.treatment.steel.temper.temper_choice import allowed
    from kilnctl.treatment.steel.temper.temper_floor import SOUND_FROM_C

    ends_c = [c for hrc in reversed(goal) for c in _fitted_c(card, hrc)[:1]]
    begin_c = choice.begin_c(*([(ends_c[0], ends_c[1])] if len(ends_c) == 2 else []))
    return begin_c if begin_c >= SOUND_FROM_C and allowed(begin_c, card, None) else choice.at_c


def _told(card: "Steel", table_c: float, begin_c: float) -> str:
    """Return the temper in words; where it is cooler than the table's, why, and how often it is held."""
    if begin_c >= table_c:
        return say_point(begin_c)
    rule = next(iter(card.temper), None)
    often = "2 x 2 h" if rule is None else f"{rule.count_high} x {say_duration(rule.time_s)}"
    return (
        f"begin at {say_point(begin_c)}, {often.removesuffix(' 00 min')}: its sources differ, and too hot "
        "cannot be undone; test, then go up"
    )


def _inside(band: "BandC", at_c: float, own: "OwnTemper | None") -> str:
    if band.low_c <= at_c <= band.high_c:
        return ", AND THIS TEMPER LIES IN IT"
    if own is not None and band.low_c <= own.at_c <= band.high_c:
        return ", AND YOUR OWN ANSWER LIES IN IT"
    return ""


def _expected(card: "Steel", at_c: float) -> str:
    """Return the hardness that all sources together say of a temper: a goal that it misses shows there."""
    from kilnctl.treatment.steel.hardness import TWO_TEMPERS_S, expected_hrc, said_span

    read = expected_hrc(card, at_c, TWO_TEMPERS_S)
    span = min(e.low_hrc for e in read), max(e.high_hrc for e in read)
    return f"{said_span(span)} HRC at {say_point(at_c)}, by all sources together"


def _rounds_to(card: "Steel", goal: tuple[float, float]) -> "tuple[TemperChoice, ...]":
    """Return the choice for what rounds to a single hardness: a tester and a table know no tenths."""
    from kilnctl.treatment.steel.hardness import ROUNDED_HRC
    from kilnctl.treatment.steel.temper.temper_choice import temper_choice

    if goal[0] != goal[1]:
        return ()
    return (temper_choice(card, (goal[0] - ROUNDED_HRC, goal[1] + ROUNDED_HRC)),)


def _contradicted(card: "Steel", at_c: float, goal: tuple[float, float]) -> tuple[str, ...]:
    """Return which tables of the card say another hardness at a temper, by more than they are good for."""
    from kilnctl.treatment.steel.hardness import PLUS_MINUS_HRC, TWO_TEMPERS_S, expected_hrc, said_span

    return tuple(
        f"sources disagree: at {at_c:.0f} °C it is {said_span((read.low_hrc, read.high_hrc))} HRC "
        f"({read.source}): begin at the cool end, test, and go up; too hot cannot be undone"
        for read in expected_hrc(card, at_c, TWO_TEMPERS_S)
        if read.low_hrc >= goal[1] + PLUS_MINUS_HRC or read.high_hrc <= goal[0] - PLUS_MINUS_HRC
    )


def _fitted_c(card: "Steel", goal_hrc: float) -> tuple[float, ...]:
    """Return the temper by the measured series of plain carbon steel, and its ends; nothing out of reach."""
    from kilnctl.errors import ProfileError
    from kilnctl.treatment.steel.temper.tempered_hardness import fitted_temper_c

    if card.kind != "plain carbon":
        return ()
    try:
        return fitted_temper_c(card.carbon, goal_hrc, 7200.0)
    except ProfileError:
        return ()


def _harder_by_the_series(card: "Steel", at_c: float, goal_hrc: float) -> float | None:
    """Return the hardness by the measured series at a table's temper, where even their end is harder."""
    from kilnctl.treatment.steel.hardness import FIT_HOTTEST_C, plain_carbon_hrc

    if card.kind != "plain carbon":
        return None
    there = plain_carbon_hrc(card.carbon, FIT_HOTTEST_C, 7200.0)
    return None if there is None or there <= goal_hrc else plain_carbon_hrc(card.carbon, at_c, 7200.0)


def _by_fit(percent: float, goal_hrc: float, hold_s: float, asked: str) -> FigureAnswer:
    from kilnctl.treatment.steel.hardness import FIT_SOURCE
    from kilnctl.treatment.steel.temper.temper_soon import temper_soon_in_short
    from kilnctl.treatment.steel.temper.tempered_hardness import fitted_temper_c

    at_c, low_c, high_c = fitted_temper_c(percent, goal_hrc, hold_s)
    return FigureAnswer(
        asked=asked,
        rows=(
            ("temper", say_point(at_c)),
            ("range", say_span_c(low_c, high_c)),
            ("time", say_duration(hold_s)),
            ("when", temper_soon_in_short()),
        ),
        source=FIT_SOURCE,
        assumed="plain carbon steel, fully hardened, all tempers together; test a part",
        data={"at_c": at_c, "low_c": low_c, "high_c": high_c, "time_s": hold_s},
    )
