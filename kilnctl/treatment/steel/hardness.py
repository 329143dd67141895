"""Hardness: temper tables read both ways, an own fit for plain carbon steel.

Every figure here is good to about 2 HRC at best: published ladders differ by that, and a maker's quench is
weaker than an industrial one. Only a test on the part says what it is.
"""

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from kilnctl.treatment.steel.steels import Steel, TemperTable

PLUS_MINUS_HRC = 2.0
ROUNDED_HRC = 0.5  # a goal is met by what rounds to it: a tester knows no tenths
TWO_TEMPERS_S = 4 * 3600.0
COLDEST_TEMPER_C = 100.0
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


def said_span(window: tuple[float, float]) -> str:
    """Return a window as people write it."""
    low, high = round(window[0]), round(window[1])
    return f"{low}" if low == high else f"{low}-{high}"
