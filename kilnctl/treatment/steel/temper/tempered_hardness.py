"""Hardness after any time: a ladder's time turned into the asked one; the fit read both ways."""

from collections.abc import Sequence

from kilnctl.errors import ProfileError
from kilnctl.treatment.steel.hardness import (
    FIT_ERROR_HRC,
    FIT_SOURCE,
    ExpectedHardness,
    cooler_than_ladders,
    plain_carbon_hrc,
    table_hrc,
)
from kilnctl.treatment.steel.hardness_scales import SOFTEST_HRC
from kilnctl.treatment.steel.steels import Steel, ac1_c
from kilnctl.treatment.steel.temper.dose import (
    USUAL_CONSTANT,
    carbon_constant,
    constants,
    equal_temperature_c,
    equal_time_s,
)

# Ladders seldom print their time; one to two hours is what the trade means.
LADDER_S = (3600.0, 7200.0)
HARDENS_FROM_PERCENT_C = 0.3  # below it no tool is hardened (common practice)
AUSTENITE_MARGIN_K = 5.0
# The worst row of the fit: what a temper that is chosen by it must be able to bear.
FIT_WORST_HRC = 2.4


def hardness_after(
    steel: Steel | None, carbon: float, at_c: float, time_s: float
) -> tuple[ExpectedHardness, ...]:
    """Return what each ladder of a card and the fit for plain carbon steel say of a temper of any time.

    A ladder is read where one to two hours temper as much, by either constant. Raises ProfileError
    where neither reaches.
    """
    found = [] if steel is None else list(hardness_of_tables(steel, at_c, time_s))
    fitted = plain_carbon_hrc(carbon, at_c, time_s) if steel is None or steel.kind == "plain carbon" else None
    if fitted is not None:
        found.append(ExpectedHardness(fitted - FIT_ERROR_HRC, fitted + FIT_ERROR_HRC, FIT_SOURCE))
    if not found and steel is not None:
        found = list(cooler_than_ladders(steel, at_c) or _hotter_than_ladders(steel, at_c))
    if not found:
        raise ProfileError(f"no source reaches {at_c:.0f} C for {time_s / 3600:.2g} h: {_covered(steel)}")
    return tuple(found)


def hardness_after_all(
    steel: Steel | None, carbon: float, tempers: Sequence[tuple[float, float]]
) -> tuple[ExpectedHardness, ...]:
    """Return what each source says after several tempers (degC, s), added at equal parameter.

    The sum is time at the hottest of them, by every constant that may be true. Raises ProfileError where no
    source reaches.
    """
    hottest_c = max(at_c for at_c, _ in tempers)
    found: dict[str, ExpectedHardness] = {}
    for constant in constants(carbon).values():
        total_s = sum(equal_time_s(at_c, hold_s, hottest_c, constant) for at_c, hold_s in tempers)
        for read in hardness_after(steel, carbon, hottest_c, total_s):
            old = found.get(read.source, read)
            low, high = min(old.low_hrc, read.low_hrc), max(old.high_hrc, read.high_hrc)
            found[read.source] = ExpectedHardness(low, high, read.source)
    return tuple(found.values())


def _hotter_than_ladders(steel: Steel, at_c: float) -> tuple[ExpectedHardness, ...]:
    """Return the bound of a heat hotter than every ladder: softer than its last row.

    Raises ProfileError from the start of austenite on, where the cooling decides and no temper does.
    """
    last = [(table.row[-1], table) for table in steel.temper_table]
    if not last or at_c <= max(row.at_c for row, _ in last):
        return ()
    start_c = ac1_c(steel)
    if start_c is not None and at_c > start_c - AUSTENITE_MARGIN_K:
        raise ProfileError(
            f"{at_c:.0f} C is above or too near the start of austenite of {steel.grade} ({start_c:.0f} C): "
            "that is no temper, its cooling decides how hard it gets"
        )
    row, table = max(last, key=lambda read: read[0].at_c)
    source = f"softer than the ladder's last row ({row.at_c:.0f} °C, {steel.cite(table)}); HRC ends at 20"
    return (ExpectedHardness(SOFTEST_HRC, row.hrc[1], source),)


def hardness_of_tables(steel: Steel, at_c: float, time_s: float) -> tuple[ExpectedHardness, ...]:
    """Return what each ladder of a card says of a temper of any time, where it reaches."""
    ladders = [_read(steel, n, at_c, time_s) for n in range(len(steel.temper_table))]
    return tuple(expected for expected in ladders if expected is not None)


def _covered(steel: Steel | None) -> str:
    """Say what the sources cover."""
    if steel is None:
        return "the fit holds for 0.56-1.15 % C, 150-410 C and 10 min to 24 h; name a --steel"
    if not steel.temper_table:
        return f"the card of {steel.grade} has no ladder"
    spans = (f"{t.row[0].at_c:.0f}-{t.row[-1].at_c:.0f} C" for t in steel.temper_table)
    return f"the ladders of {steel.grade} go {', '.join(dict.fromkeys(spans))}, 1-2 h"


def _read(steel: Steel, n: int, at_c: float, time_s: float) -> ExpectedHardness | None:
    """Return a ladder's range over one to two hours and both constants, None where it does not go."""
    table, spans = steel.temper_table[n], []
    for constant in (USUAL_CONSTANT, carbon_constant(steel.carbon)):
        for ladder_s in LADDER_S:
            span = table_hrc(table, equal_temperature_c(at_c, time_s, ladder_s, constant))
            spans += [] if span is None else [span]
    if not spans:
        return None
    return ExpectedHardness(min(low for low, _ in spans), max(high for _, high in spans), steel.cite(table))


def fitted_temper_c(carbon: float, hrc: float, time_s: float) -> tuple[float, float, float]:
    """Return the temper of a plain carbon steel for a hardness: middle and ends of the fit's worst row, degC.

    Raises ProfileError where the fit does not reach it.
    """
    ladder = [(at_c, plain_carbon_hrc(carbon, float(at_c), time_s)) for at_c in range(150, 411)]
    inside = [(float(at_c), found) for at_c, found in ladder if found is not None]
    if carbon < HARDENS_FROM_PERCENT_C:
        raise ProfileError(f"{carbon:g} % carbon hardly hardens: no temper makes {hrc:g} HRC of it")
    if not inside:
        raise ProfileError(
            "the fit for plain carbon steel holds for 0.56-1.15 % C and 10 min to 24 h; name a --steel"
        )
    if not inside[-1][1] <= hrc <= inside[0][1]:
        raise ProfileError(
            f"{hrc:g} HRC is out of reach: {carbon:g} % C runs from {inside[0][1]:.0f} HRC "
            f"({inside[0][0]:.0f} C) down to {inside[-1][1]:.0f} HRC ({inside[-1][0]:.0f} C)"
        )

    def at(goal: float) -> float:
        return min(inside, key=lambda row: abs(row[1] - goal))[0]

    return at(hrc), at(hrc + FIT_WORST_HRC), at(hrc - FIT_WORST_HRC)
