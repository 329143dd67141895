"""The ladders of a card as one that falls throughout: the hotter the temper, the softer the steel."""

import math
from itertools import pairwise

from kilnctl.treatment.steel.hardness import FAR_ROWS_K, ON_A_ROW_K, SILENT_ROWS_K, between
from kilnctl.treatment.steel.sourced_values import MEMORY
from kilnctl.treatment.steel.steels import Steel, TemperTable
from kilnctl.treatment.steel.temper.temper_floor import sound_rows

EVEN_HRC = 1e-6  # by so much two rows that print the same fall

Ladder = list[tuple[float, float]]  # degC, HRC; rising heat, falling hardness


def joined_ladder(steel: Steel) -> Ladder:
    """Return the falling ladder of a card: its most trusted, continued by the next beyond both ends."""
    tables = sorted(temper_ladders(steel), key=least_trust)
    ladder = _steps(tables[0])
    for table in tables[1:]:
        ladder = _continued(ladder, _steps(table))
    return ladder


def _continued(ladder: Ladder, other: Ladder) -> Ladder:
    """Return a ladder with what another says beyond its ends: cooler and harder, hotter and softer.

    A ladder that begins only beyond begins there at the hardness at which the first one ended.
    """
    (first_c, first_hrc), (last_c, last_hrc) = ladder[0], ladder[-1]
    cooler = [(c, hrc) for c, hrc in other if c < first_c and hrc > first_hrc]
    hotter = [(c, hrc) for c, hrc in other if c > last_c and hrc < last_hrc]
    if cooler and other[-1][0] < first_c and other[-1][1] <= first_hrc:
        cooler.append((at_hardness_c(other, first_hrc), first_hrc + EVEN_HRC))
    if hotter and other[0][0] > last_c and other[0][1] >= last_hrc:
        hotter.insert(0, (at_hardness_c(other, last_hrc), last_hrc - EVEN_HRC))
    if hotter and hotter[0][0] - last_c > SILENT_ROWS_K:
        hotter = []
    return [*cooler, *ladder, *hotter]


def at_hardness_c(ladder: Ladder, hrc: float) -> float:
    """Return the temper at which a ladder comes to a hardness; beyond its ends, the end."""
    return between(hrc, [h for _, h in reversed(ladder)], [c for c, _ in reversed(ladder)])


def rows_apart_k(ladder: Ladder, at_c: float) -> float:
    """Return how far apart the steps around a temperature are, 0 where they can be read between."""
    if any(abs(at_c - c) <= ON_A_ROW_K for c, _ in ladder):
        return 0.0
    gaps_k = [high - low for (low, _), (high, _) in pairwise(ladder) if low < at_c < high]
    return gaps_k[0] if gaps_k and gaps_k[0] > FAR_ROWS_K else 0.0


def temper_ladders(steel: Steel) -> list[TemperTable]:
    """Return the ladders that say anything of a sound temper."""
    return [table for table in steel.temper_table if sound_rows(table)]


def least_trust(table: TemperTable) -> tuple[bool, bool, bool]:
    """Rank a table: doubted last, printed before remembered, then by whether it can be read between."""
    temperatures, _ = falling_run(table)
    gaps_k = [high - low for low, high in pairwise(temperatures)]
    return bool(table.doubt), table.source == MEMORY, max(gaps_k, default=math.inf) > FAR_ROWS_K


def hardest_hrc(steel: Steel) -> float:
    """Return the hardest middle of any sound temper on a card, HRC."""
    return max((low + high) / 2 for table in temper_ladders(steel) for _, low, high in sound_rows(table))


def _steps(table: TemperTable) -> Ladder:
    """Return the falling run of a ladder; of a single row both ends of what it says."""
    if len(rows := sound_rows(table)) == 1:
        at_c, low, high = rows[0]
        return [(at_c, high), (at_c, low - EVEN_HRC)]
    return list(zip(*falling_run(table), strict=True))


def falling_run(table: TemperTable) -> tuple[list[float], list[float]]:
    """Return the heats (degC) and middles (HRC) of a ladder up to where it rises again or is silent."""
    (first_c, low, high), *rest = sound_rows(table)
    temperatures, middles = [first_c], [(low + high) / 2]
    for at_c, low, high in rest:
        middle = (low + high) / 2
        if middle > middles[-1] or at_c - temperatures[-1] > SILENT_ROWS_K:
            break
        temperatures.append(at_c)
        middles.append(min(middle, middles[-1] - 1e-6))
    return temperatures, middles
