"""How much a part grows, hot and for good: figure growth."""

from typing import TYPE_CHECKING

from kilnctl.cli.figure.figure_answer import FigureAnswer, show
from kilnctl.cli.figure.inputs import Quantity, heat_c, length_mm
from kilnctl.cli.terminal.options import Json
from kilnctl.errors import ConfigError, UnitError
from kilnctl.units import say_point

if TYPE_CHECKING:
    from kilnctl.treatment.steel.formulas import Growth


COLDEST_C, HOTTEST_C = 20.0, 1200.0  # of the standard
SOURCE_HOT = "thermal elongation of carbon steel, EN 1993-1-2:2005, 3.4.1.1"


def growth(
    length: Quantity, temperature: Quantity, /, *, steel: str | None = None, as_json: Json = False
) -> int:
    """Work out how much a part grows: while it is hot, and for good when it is hardened.

    Parameters
    ----------
    length
        Its length, width or diameter when it is cold ("300 mm", "12 in").
    temperature
        The heat; with --steel the hardening heat.
    steel
        The grade that is hardened from it.
    as_json
        Print one JSON object.
    """
    from kilnctl.model.steel_heat import elongation
    from kilnctl.treatment.steel import formulas
    from kilnctl.treatment.steel.steels import load_steel
    from kilnctl.treatment.steel.windows import hardening_heats_c

    long_mm, at_c = length_mm(length), heat_c(temperature)
    if not COLDEST_C <= at_c <= HOTTEST_C:
        raise UnitError(f"the expansion of steel is known from {COLDEST_C:.0f} to {HOTTEST_C:.0f} C")
    hot_mm = long_mm * elongation(at_c)
    rows = [("while hot", f"{_both(hot_mm)} longer, {_both(long_mm + hot_mm)} in all")]
    data: dict[str, object] = {"hot_mm": hot_mm}
    sources, beware = [SOURCE_HOT], ["allow for it: where it cannot grow freely it bends or jams"]
    assumed = "carbon steel; hardening stainless grows a tenth less, 304 and 316 a third more (from memory)"
    if steel is not None:
        card = load_steel(steel)
        window = hardening_heats_c(card)
        if window and not window[0] - 30.0 <= at_c <= window[1] + 30.0:
            raise ConfigError(
                f"{card.grade} hardens from {window[0]:.0f}-{window[1]:.0f} C: {at_c:.0f} C is no "
                "hardening heat of it; leave --steel out for the heat alone"
            )
        lasting = formulas.growth(card, at_c)
        rows += [("for good", _for_good(long_mm, g)) for g in lasting]
        rows += [("for good", "no figure is known for this grade: measure a coupon of the same bar")] * (
            not lasting
        )
        sources += [g.source for g in lasting]
        data["for_good_mm"] = [
            [long_mm * p / 100.0 for p in (g.low_percent, g.high_percent)] for g in lasting
        ]
        assumed += (
            "; annealed before, hardened through, alike in all directions (along the rolling it is more)"
        )
        beware.append("grind to size after the last temper: leave stock")
    return show(
        FigureAnswer(
            asked=f"{f'{card.grade}, ' if steel else ''}{_both(long_mm)} when cold, at {say_point(at_c)}:",
            rows=tuple(rows),
            source="; ".join(sources),
            assumed=assumed,
            data=data,
            beware=tuple(beware),
        ),
        as_json,
    )


def _for_good(long_mm: float, lasting: "Growth") -> str:
    low_mm, high_mm = (long_mm * percent / 100.0 for percent in (lasting.low_percent, lasting.high_percent))
    inches = f"{low_mm / 25.4:+.4f} to {high_mm / 25.4:+.4f} in"
    share = f"{lasting.low_percent:+.2f} to {lasting.high_percent:+.2f} %"
    return f"{low_mm:+.3f} to {high_mm:+.3f} mm ({inches}), {share}"


def _both(mm: float) -> str:
    return f"{mm:.2f} mm ({mm / 25.4:.3f} in)"
