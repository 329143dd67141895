"""Hardness: temper tables read both ways, an own fit for plain carbon steel.

Every figure here is good to about 2 HRC at best: published ladders differ by that, and a maker's quench is
weaker than an industrial one. Only a test on the part says what it is.
"""

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from kilnctl.errors import ProfileError
from kilnctl.profile.segments import say_goal
from kilnctl.treatment.steel.sourced_values import MEMORY
from kilnctl.treatment.steel.steels import Steel, TemperTable
from kilnctl.treatment.steel.temper_floor import sound_rows
from kilnctl.units import say_point

PLUS_MINUS_HRC = 2.0
ROUNDED_HRC = 0.5  # a goal is met by what rounds to it: a tester knows no tenths
TWO_TEMPERS_S = 4 * 3600.0
COLDEST_TEMPER_C = 100.0
BAND_MARGIN_K = 5.0  # a temper near an avoid band keeps the sensor's class away from it
# Between rows this far apart a ladder is not straight: two makers measured 1.1 and 1.3 HRC off the line.
FAR_ROWS_K, FAR_ROWS_HRC, ON_A_ROW_K = 100.0, 1.5, 5.0
SILENT_ROWS_K = 250.0  # what lies between, a secondary hardening too, is not said: nothing is read there
NEAR_FIRST_K = 25.0  # ladders that begin about there; one that begins hotter bounds nothing so cool
FIT_HOTTEST_C = 410.0
FIT_ERROR_HRC = 1.55  # leaving one steel out at a time, rms; rms of the fit itself 0.83, worst 2.4
FIT_SOURCE = (
    "fit (± is one rms, the worst row 2.4 HRC off) on 91 measured rows of plain carbon steel, 0.56-1.15 %C "
    "(Hollomon and Jaffe 1945, Grange and Baughman 1956)"
)


def between(x: float, xs: Sequence[float], ys: Sequence[float]) -> float:
    """Return y at x on the straight lines through points of rising xs; outside them the nearest point's y."""
    if not xs[0] < x < xs[-1]:
        return ys[0] if x <= xs[0] else ys[-1]
    above = bisect_right(xs, x)
    slope = (ys[above] - ys[above - 1]) / (xs[above] - xs[above - 1])
    return ys[above - 1] + slope * (x - xs[above - 1])


def table_hrc(table: TemperTable, at_c: float) -> tuple[float, float] | None:
    """Return the hardness range a ladder gives at a temper temperature, between its rows; None outside."""
    temperatures = [row.at_c for row in table.row]
    if not temperatures[0] - ON_A_ROW_K <= at_c <= temperatures[-1] + ON_A_ROW_K:
        return None
    low, high = (between(at_c, temperatures, [row.hrc[i] for row in table.row]) for i in (0, 1))
    far_k = far_rows_k(table, at_c)
    if not far_k:
        return low, high
    if far_k > SILENT_ROWS_K:
        return None
    above = bisect_right(temperatures, at_c)
    ends = [hrc for row in table.row[above - 1 : above + 1] for hrc in row.hrc]
    # between two rows a ladder bends, but it does not leave them
    return max(low - FAR_ROWS_HRC, min(ends)), min(high + FAR_ROWS_HRC, max(ends))


def far_rows_k(table: TemperTable, at_c: float) -> float:
    """Return how far apart the rows around a temperature are, 0 where they can be read between."""
    temperatures = [row.at_c for row in table.row]
    if any(abs(at_c - t) <= ON_A_ROW_K for t in temperatures):
        return 0.0
    gaps_k = [high - low for low, high in pairwise(temperatures) if low < at_c < high]
    return gaps_k[0] if gaps_k and gaps_k[0] > FAR_ROWS_K else 0.0


def plain_carbon_hrc(carbon_percent: float, at_c: float, time_s: float) -> float | None:
    """Return the fitted hardness of a fully hardened plain carbon steel, or None outside the fit.

    HRC = 53.34 - 1.851 P - 0.1297 P^2 + 65.85 C - 35.31 C^2, P = T_K(16 + log10 t_h)/1000, valid for
    0.56-1.15 %C, 150-410 degC, 10 min to 24 h, 6.5 < P < 11.8; see FIT_SOURCE and FIT_ERROR_HRC.
    """
    if not (
        0.56 <= carbon_percent <= 1.15 and 149.0 <= at_c <= FIT_HOTTEST_C and 600.0 <= time_s <= 24 * 3600.0
    ):
        return None
    p = (at_c + 273.15) * (16.0 + math.log10(time_s / 3600.0)) / 1000.0
    if not 6.5 < p < 11.8:
        return None
    return 53.34 - 1.851 * p - 0.1297 * p**2 + 65.85 * carbon_percent - 35.31 * carbon_percent**2


@dataclass(frozen=True, slots=True)
class ExpectedHardness:
    """A hardness to expect after a temper, from one source."""

    low_hrc: float
    high_hrc: float
    source: str


def expected_hrc(steel: Steel, at_c: float, time_s: float) -> tuple[ExpectedHardness, ...]:
    """Return what every table of the card, and the fit for plain carbon steel, say of a temper.

    A table that the card doubts is heard only where no other reaches.
    """
    read = [(table, span) for table in steel.temper_table if (span := table_hrc(table, at_c)) is not None]
    trusted = [(table, span) for table, span in read if not table.doubt] or read
    found = [ExpectedHardness(*span, steel.cite(table)) for table, span in trusted]
    fitted = plain_carbon_hrc(steel.carbon, at_c, time_s) if steel.kind == "plain carbon" else None
    if fitted is not None:
        found.append(ExpectedHardness(fitted - FIT_ERROR_HRC, fitted + FIT_ERROR_HRC, FIT_SOURCE))
    return tuple(found) or cooler_than_ladders(steel, at_c)


def cooler_than_ladders(steel: Steel, at_c: float) -> tuple[ExpectedHardness, ...]:
    """Return the bounds of a temper cooler than every ladder: its first row, and the hardness as quenched.

    A hotter temper is a softer one, so it lies between them; nothing below 100 degC, where nothing tempers.
    """
    first = [(table.row[0], table) for table in steel.temper_table]
    quenched = [q.as_quenched_hrc[1] for q in steel.quench if q.as_quenched_hrc]
    coolest_c = min((row.at_c for row, _ in first), default=0.0)
    if not quenched or not COLDEST_TEMPER_C <= at_c < coolest_c:
        return ()
    near = [read for read in first if read[0].at_c <= coolest_c + NEAR_FIRST_K]
    row, table = min(near, key=lambda read: read[0].hrc[0])
    said = f"{row.at_c:.0f} °C, {steel.cite(table)}"
    source = f"between the hardness as quenched and the ladder's first row ({said})"
    return (ExpectedHardness(row.hrc[0], max(*quenched, row.hrc[1]), source),)


Reached = tuple[TemperTable, tuple[float, float]]


@dataclass(frozen=True, slots=True)
class TemperChoice:
    """Temper temperatures for a goal: `at_c` of the first table, and the range over all that reach it."""

    at_c: float
    low_c: float
    high_c: float
    source: str
    others: tuple[str, ...] = ()
    far_rows_k: float = 0.0


def temper_choice(steel: Steel, goal: tuple[float, float], highest_c: float | None = None) -> TemperChoice:
    """Return the temper for a goal hardness from the card's tables, out of its avoid bands where it can be.

    `highest_c` is what the oven may do. Raises ProfileError where no table reaches the goal; the message
    says what can be reached.
    """
    limit_c = math.inf if highest_c is None else highest_c
    middles, touching = _middles(steel, goal), _ranges(steel, goal)
    free = [_free_pieces(windows, steel, limit_c) for windows in (middles, touching)]
    trusted = [found for found in free if any(not far_rows_k(t, sum(w) / 2) for t, w in found)]
    windows = next((found for found in (*trusted, *free, middles, touching) if found), None)
    if windows is None:
        raise ProfileError(_out_of_reach(steel, goal))
    return _chosen(steel, windows, touching, limit_c)


def _chosen(steel: Steel, reached: list[Reached], touching: list[Reached], limit_c: float) -> TemperChoice:
    """Return the choice among the tables that reach a goal; those that only touch it are named beside it.

    The range holds what they say too, where it lies out of the avoid bands.
    """
    reached = sorted(reached, key=_trust)
    beside = [t for t in touching if all(t[0] is not r[0] for r in reached)]
    all_of_them = [*reached, *_free_pieces(beside, steel, limit_c)]
    first, (low_c, high_c) = reached[0]
    at_c = float(math.floor((low_c + high_c) / 2))
    return TemperChoice(
        at_c=at_c,
        far_rows_k=far_rows_k(first, at_c),
        low_c=min(window[0] for _, window in all_of_them),
        high_c=max(window[1] for _, window in all_of_them),
        source=steel.cite(first),
        others=tuple(
            f"{steel.cite(table)}: {said_span(window)} °C{_where_lost(window, steel)}"
            for table, window in (*reached[1:], *beside)
        ),
    )


def _where_lost(window: tuple[float, float], steel: Steel) -> str:
    """Return in words that a window lies where the card says to temper not, nothing where it does not."""
    return "" if _free(window, steel, math.inf) is not None else ", where toughness is lost by the card"


def _trust(read: Reached) -> tuple[bool, bool, float]:
    """Rank a table that reaches a goal: doubted last, printed before remembered, then by how closely read."""
    table, window = read
    return bool(table.doubt), table.source == MEMORY, far_rows_k(table, sum(window) / 2)


def said_span(window: tuple[float, float]) -> str:
    """Return a window as people write it."""
    low, high = round(window[0]), round(window[1])
    return f"{low}" if low == high else f"{low}-{high}"


def _free_pieces(windows: list[Reached], steel: Steel, limit_c: float) -> list[Reached]:
    """Return the tables with the part of their window that is free, those that have one."""
    return [(table, piece) for table, w in windows if (piece := _free(w, steel, limit_c)) is not None]


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


def _tempers(steel: Steel) -> list[TemperTable]:
    """Return the ladders that say anything of a sound temper."""
    return [table for table in steel.temper_table if sound_rows(table)]


def hardest_hrc(steel: Steel) -> float:
    """Return the hardest middle of any sound temper on a card, HRC."""
    return max((low + high) / 2 for table in _tempers(steel) for _, low, high in sound_rows(table))


def _middles(steel: Steel, goal: tuple[float, float]) -> list[Reached]:
    """Return where the middle of each ladder lies in the goal."""
    windows = [(table, _window(table, goal)) for table in _tempers(steel)]
    return [(table, window) for table, window in windows if window is not None]


def _ranges(steel: Steel, goal: tuple[float, float]) -> list[Reached]:
    """Return where the range of each ladder touches the goal."""
    found = []
    for table in _tempers(steel):
        temperatures, _ = _falling(table)
        fits = [
            at_c
            for at_c in _each_kelvin(temperatures[0], temperatures[-1])
            if (span := table_hrc(table, at_c)) and span[0] <= goal[1] and span[1] >= goal[0]
        ]
        found += [(table, (fits[0], fits[-1]))] if fits else []
    return found


def _each_kelvin(first_c: float, last_c: float) -> list[float]:
    return [first_c + n for n in range(math.ceil(last_c + 0.5 - first_c))]


def _window(table: TemperTable, goal: tuple[float, float]) -> tuple[float, float] | None:
    """Return the temper temperatures at which the middle of a ladder lies in the goal, or None.

    Only the falling run of the ladder from its first row counts: where a ladder rises again (secondary
    hardening) the lower temper is the one that keeps toughness and needs no other heat.
    """
    temperatures, middles = _falling(table)
    if goal[0] > middles[0] or goal[1] < middles[-1]:
        return None
    rising_hrc, falling_c = middles[::-1], temperatures[::-1]
    low_c, high_c = (between(hrc, rising_hrc, falling_c) for hrc in (goal[1], goal[0]))
    return low_c, high_c


def _falling(table: TemperTable) -> tuple[list[float], list[float]]:
    (first_c, low, high), *rest = sound_rows(table)
    temperatures, middles = [first_c], [(low + high) / 2]
    for at_c, low, high in rest:
        middle = (low + high) / 2
        if middle > middles[-1] or at_c - temperatures[-1] > SILENT_ROWS_K:
            break
        temperatures.append(at_c)
        middles.append(min(middle, middles[-1] - 1e-6))
    return temperatures, middles


def _out_of_reach(steel: Steel, goal: tuple[float, float]) -> str:
    if not _tempers(steel):
        return f"{steel.grade} has no temper table on its card: give the temper a temperature (at = ...)"
    ladders = [_falling(table) for table in _tempers(steel)]
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
