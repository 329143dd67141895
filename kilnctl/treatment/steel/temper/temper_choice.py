"""The temper for a goal hardness, from the ladders of a card: a softer goal is never given a cooler temper.

So all goals are read on one ladder; when each took the table that suited it, 60 and 62 HRC got one temper.
"""

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from kilnctl.errors import ProfileError
from kilnctl.profile.segments import say_goal
from kilnctl.treatment.steel.hardness import ROUNDED_HRC, between, said_span, table_hrc
from kilnctl.treatment.steel.steels import Steel, TemperTable
from kilnctl.treatment.steel.temper.joined_ladder import (
    EVEN_HRC,
    Ladder,
    at_hardness_c,
    falling_run,
    joined_ladder,
    least_trust,
    rows_apart_k,
    temper_ladders,
)
from kilnctl.units import say_point

COOLER_K = 20.0  # about what the 2 HRC are worth that every table is good to (common practice)
BAND_MARGIN_K = 5.0  # a temper near an avoid band keeps the sensor's class away from it

Reached = tuple[TemperTable, tuple[float, float]]


@dataclass(frozen=True, slots=True)
class TemperChoice:
    """A temper for a goal, and the range over all tables that reach it.

    `held` says why it is not the middle of the goal, where it is not; `far_rows_k` is how far apart the rows
    are between which it was read, 0 where they can be read between. `windows` is where each table that is
    not doubted reaches the goal, outside every range where toughness is lost.
    """

    at_c: float
    low_c: float
    high_c: float
    source: str
    others: tuple[str, ...] = ()
    far_rows_k: float = 0.0
    held: str = ""
    windows: tuple[tuple[float, float], ...] = ()

    def begin_c(self, *more: tuple[float, float]) -> float:
        """Return where to begin, at most 20 K cooler: where the sources overlap, else at the coolest one.

        `more` are the windows of further sources. A temper too hot cannot be undone, one too cool can go on.
        """
        windows = [*self.windows, *more]
        if self.held or not windows:
            return self.at_c
        low_c, high_c = max(low for low, _ in windows), min(high for _, high in windows)
        middles_c = [(low + high) / 2.0 for low, high in windows]
        wanted_c = (low_c + high_c) / 2.0 if low_c <= high_c else min(middles_c)
        return float(math.floor(min(self.at_c, max(wanted_c, self.at_c - COOLER_K))))


def temper_choice(steel: Steel, goal: tuple[float, float], highest_c: float | None = None) -> TemperChoice:
    """Return the temper for a goal hardness from the card's tables, out of its avoid bands where it can be.

    `highest_c` is what the oven may do. Raises ProfileError where no table reaches the goal; the message
    says what can be reached.
    """
    limit_c = math.inf if highest_c is None else highest_c
    middles, touching = _middles(steel, goal), _ranges(steel, goal)
    if not (middles or touching):
        raise ProfileError(_out_of_reach(steel, goal))
    ladder = joined_ladder(steel)
    window = _where(ladder, goal)
    at_c, held = _free_temper(steel, ladder, goal, window, limit_c)
    reached = middles + [read for read in touching if all(read[0] is not m[0] for m in middles)]
    windows = [window, *(said for _, said in (touching if held else reached))]
    ends_c = [at_c, *(end_c for said in windows for end_c in _free(said, steel, limit_c) or ())]
    first = _read_by(steel, at_c, goal)
    return TemperChoice(
        at_c=at_c,
        far_rows_k=rows_apart_k(ladder, at_c),
        low_c=min(ends_c),
        high_c=max(ends_c),
        source=steel.cite(first),
        others=tuple(
            f"{steel.cite(table)}: {said_span(span)} °C{_where_lost(span, steel)}"
            for table, span in reached
            if table is not first or held
        ),
        held=held,
        windows=tuple(free for t, said in reached if not t.doubt and (free := _free(said, steel, limit_c))),
    )


def _where(ladder: Ladder, goal: tuple[float, float]) -> tuple[float, float]:
    return at_hardness_c(ladder, goal[1]), at_hardness_c(ladder, goal[0])


def _free_temper(
    steel: Steel, ladder: Ladder, goal: tuple[float, float], window: tuple[float, float], limit_c: float
) -> tuple[float, str]:
    """Return the temper in the lowest part of a window that is free, or the nearest free one, and why so."""
    piece = _free(window, steel, limit_c)
    if piece is not None:
        at_c = float(math.floor(sum(piece) / 2))
        return at_c, _beyond(ladder, goal)
    wanted_c = sum(window) / 2
    for edge_c in _edges(steel, window, limit_c):
        if _touches(steel, edge_c, goal):
            return float(edge_c), _held(goal, wanted_c, limit_c)
    return float(math.floor(wanted_c)), _beyond(ladder, goal)


def _held(goal: tuple[float, float], wanted_c: float, limit_c: float) -> str:
    why = "more than the oven may do" if wanted_c > limit_c else "where toughness is lost by the card"
    return f"the middle of {say_goal(goal)} is at {say_point(wanted_c)}, {why}: this is the nearest outside"


def _edges(steel: Steel, window: tuple[float, float], limit_c: float) -> tuple[float, ...]:
    """Return the nearest free tempers below and above a window, those that there are."""
    below_c, above_c = min(window[0], limit_c), window[1]
    for band in sorted(steel.spoils, key=lambda band: -band.high_c):
        if band.low_c - BAND_MARGIN_K < below_c <= band.high_c + BAND_MARGIN_K:
            below_c = band.low_c - BAND_MARGIN_K
    for band in sorted(steel.spoils, key=lambda band: band.low_c):
        if band.low_c - BAND_MARGIN_K <= above_c < band.high_c + BAND_MARGIN_K:
            above_c = band.high_c + BAND_MARGIN_K
    return tuple(c for c in (math.floor(below_c), math.ceil(above_c)) if c <= limit_c)


def _touches(steel: Steel, at_c: float, goal: tuple[float, float]) -> bool:
    return any(_hits(table, at_c, goal) for table in temper_ladders(steel))


def _hits(table: TemperTable, at_c: float, goal: tuple[float, float]) -> bool:
    span = table_hrc(table, at_c)
    return span is not None and span[0] - ROUNDED_HRC <= goal[1] and span[1] + ROUNDED_HRC >= goal[0]


def _beyond(ladder: Ladder, goal: tuple[float, float]) -> str:
    """Say so where only one end of what the tables print reaches the goal, or one row tells of all of it."""
    for (at_c, high), (also_at_c, low) in pairwise(ladder):
        if at_c == also_at_c and low <= goal[0] <= goal[1] <= high:
            return f"one row tells of {low:.0f}-{high:.0f} HRC, all at {say_point(at_c)}: try a coupon"
    if goal[0] > ladder[0][1] + EVEN_HRC:
        return f"only the hard end of its tables reaches {say_goal(goal)}, at their coolest temper"
    if goal[1] < ladder[-1][1] - EVEN_HRC:
        return f"only the soft end of its tables reaches {say_goal(goal)}, at their hottest temper"
    return ""


def _read_by(steel: Steel, at_c: float, goal: tuple[float, float]) -> TemperTable:
    """Return the table that a temper rests on: the most trusted that says the goal there, or goes there."""
    tables = sorted(temper_ladders(steel), key=least_trust)
    there = [table for table in tables if table_hrc(table, at_c) is not None]
    return next((table for table in there if _hits(table, at_c, goal)), (there or tables)[0])


def _where_lost(window: tuple[float, float], steel: Steel) -> str:
    """Return in words that a window lies where the card says to temper not, nothing where it does not."""
    return "" if _free(window, steel, math.inf) is not None else ", where toughness is lost by the card"


def _free(window: tuple[float, float], steel: Steel, limit_c: float) -> tuple[float, float] | None:
    """Return the lowest part of a window that no avoid band covers and the oven reaches, or None."""
    low_c, high_c = window[0], min(window[1], limit_c)
    for band in sorted(steel.spoils, key=lambda band: band.low_c):
        if band.low_c - BAND_MARGIN_K < high_c and low_c <= band.high_c + BAND_MARGIN_K:
            if low_c <= band.low_c - BAND_MARGIN_K:
                return low_c, band.low_c - BAND_MARGIN_K
            low_c = band.high_c + BAND_MARGIN_K
    return (low_c, high_c) if low_c <= high_c else None


def allowed(at_c: float, steel: Steel, highest_c: float | None) -> bool:
    """True where a temper lies outside every avoid band of the card, and within what the oven may do."""
    limit_c = math.inf if highest_c is None else highest_c
    return _free((at_c, at_c), steel, limit_c) is not None


def _middles(steel: Steel, goal: tuple[float, float]) -> list[Reached]:
    """Return where the middle of each ladder lies in the goal."""
    windows = [(table, _window(table, goal)) for table in temper_ladders(steel)]
    return [(table, window) for table, window in windows if window is not None]


def _ranges(steel: Steel, goal: tuple[float, float]) -> list[Reached]:
    """Return where the range of each ladder touches the goal."""
    found = []
    for table in temper_ladders(steel):
        fits = [at_c for at_c, low, high in _read_each_kelvin(table) if low <= goal[1] and high >= goal[0]]
        found += [(table, (fits[0], fits[-1]))] if fits else []
    return found


@lru_cache(maxsize=64)  # whoever asks for one goal asks for others
def _read_each_kelvin(table: TemperTable) -> tuple[tuple[float, float, float], ...]:
    """Return temperature and range of hardness for each kelvin of a ladder's falling run that says one."""
    temperatures, _ = falling_run(table)
    first_c, last_c = temperatures[0], temperatures[-1]
    each_c = (first_c + n for n in range(math.ceil(last_c + 0.5 - first_c)))
    return tuple((at_c, *span) for at_c in each_c if (span := table_hrc(table, at_c)))


def _window(table: TemperTable, goal: tuple[float, float]) -> tuple[float, float] | None:
    """Return the temper temperatures at which the middle of a ladder lies in the goal, or None.

    Only the falling run of the ladder from its first row counts: where a ladder rises again (secondary
    hardening) the lower temper is the one that keeps toughness and needs no other heat.
    """
    temperatures, middles = falling_run(table)
    if goal[0] > middles[0] or goal[1] < middles[-1]:
        return None
    rising_hrc, falling_c = middles[::-1], temperatures[::-1]
    low_c, high_c = (between(hrc, rising_hrc, falling_c) for hrc in (goal[1], goal[0]))
    return low_c, high_c


def _out_of_reach(steel: Steel, goal: tuple[float, float]) -> str:
    if not temper_ladders(steel):
        return f"{steel.grade} has no temper table on its card: give the temper a temperature (at = ...)"
    ladders = [falling_run(table) for table in temper_ladders(steel)]
    if all(len(table.row) == 1 for table in steel.temper_table):
        row = steel.temper_table[0].row[0]
        return (
            f"the card of {steel.grade} has one row only ({say_point(row.at_c)}: {sum(row.hrc) / 2:g} HRC), "
            f"which says nothing of {say_goal(goal)}: temper coupons from there, 15 K apart; hotter is softer"
        )
    hardest = max(ladders, key=lambda ladder: ladder[1][0])
    softest = min(ladders, key=lambda ladder: ladder[1][-1])
    if goal[1] < softest[1][-1] and steel.kind in ("plain carbon", "low alloy"):
        return (
            f"no table of {steel.grade} goes as soft as {say_goal(goal)}: they end at "
            f"{softest[1][-1]:.0f} HRC ({say_point(softest[0][-1])}); hotter is softer: temper coupons from "
            "there, 15 K apart"
        )
    colder = steel.kind in ("high alloy", "stainless") and bool(steel.cold) and goal[0] > hardest[1][0]
    return (
        f"a goal of {say_goal(goal)} is out of reach for {steel.grade}: its tables run from "
        f"{hardest[1][0]:.0f} HRC (temper {say_point(hardest[0][0])}) down to "
        f"{softest[1][-1]:.0f} HRC ({say_point(softest[0][-1])})"
        + "; a cold treatment before the temper adds 1-2 HRC: measure it, then say the temper's own heat"
        * colder
    )
