"""How fast the thinnest edge cools in air, and the budget from oven to bath: figure transfer."""

from kilnctl.cli.figure.figure_answer import FigureAnswer, say_seconds, show
from kilnctl.cli.figure.inputs import Quantity, heat_c, size_mm, time_s
from kilnctl.cli.terminal.options import Json
from kilnctl.errors import ConfigError, UnitError
from kilnctl.units import say_mm, say_point

LEAST_ABOVE_AIR_K = 20.0
LONGEST_S = 3600.0
GIVES_BY_HAND = (
    "fresh from the bath a blade still bends by hand above about 200 °C; below Ms it stiffens, then it "
    "breaks: straighten only until then (common practice)"
)
SOURCE = "austenite 590 J/(kg K), Dinsdale 1991"
OUT_SOURCE = "undercooled austenite 500 J/(kg K), Dinsdale 1991"
PEARLITE_C = 700.0
TOO_LATE = "carbon steel below 700 °C begins to turn to pearlite: too late for a quench"


def transfer(
    thinnest: Quantity,
    temperature: Quantity,
    /,
    *,
    floor: Quantity | None = None,
    air: Quantity = "20 C",
    took: Quantity | None = None,
    as_json: Json = False,
) -> int:
    """Estimate how long the thinnest edge stays above a temperature in still air: the time to the bath.

    Parameters
    ----------
    thinnest
        The thinnest place that must harden ("1 mm").
    temperature
        Its temperature when it leaves the oven.
    floor
        It must be above this at the bath; left out, 760 C.
    air
        The air's temperature.
    took
        What a transfer took ("3.5 s"): is it within the budget?
    as_json
        Print one JSON object.
    """
    from kilnctl.treatment.steel.quenching import OUT_OF_THE_BATH_C, QUENCH_FLOOR_C, falls_to_s

    edge_mm, from_c, air_c = size_mm(thinnest), heat_c(temperature), heat_c(air)
    floor_c = QUENCH_FLOOR_C if floor is None else heat_c(floor)
    if not air_c + LEAST_ABOVE_AIR_K <= floor_c < from_c:
        raise UnitError(
            f"the floor {floor_c:.0f} C must lie below {from_c:.0f} C "
            f"and {LEAST_ABOVE_AIR_K:.0f} K above the air"
        )
    budget_s = falls_to_s(edge_mm, from_c, floor_c, air_c)
    if budget_s >= LONGEST_S:
        raise ConfigError(f"{say_mm(edge_mm)} stay above {floor_c:.0f} C for more than an hour")
    out_of_the_bath = from_c <= OUT_OF_THE_BATH_C
    which = "as long as you may straighten" if out_of_the_bath else "which is the budget"
    rows = [(f"at {say_point(floor_c)}", f"after {say_seconds(budget_s)}, {which}")]
    data: dict[str, object] = {"budget_s": budget_s, "floor_c": floor_c}
    if took is not None:
        took_s = time_s(took)
        data |= {"took_s": took_s, "within": took_s <= budget_s}
        rows.append(
            ("yours", f"{say_seconds(took_s)}: {'within' if took_s <= budget_s else 'LATE, over'} the budget")
        )
    return show(
        FigureAnswer(
            asked=f"an edge of {say_mm(size_mm(thinnest))} from {say_point(from_c)} in still air:",
            rows=tuple(rows),
            source=f"radiation and film of a bare slab; {OUT_SOURCE if out_of_the_bath else SOURCE}",
            assumed=(
                "the edge alone, which is the worst case: a thick body feeds it. The usual floor of 760 °C "
                "is common practice, no single source"
            )
            if not out_of_the_bath
            else "this thickness all over; what turns to martensite gives heat back and slows the fall",
            data=data,
            beware=_beware(out_of_the_bath, floor_c),
        ),
        as_json,
    )


def _beware(out_of_the_bath: bool, floor_c: float) -> tuple[str, ...]:
    """Return what such a fall means: too late on the way to the bath, time to straighten out of it."""
    if out_of_the_bath:
        return (GIVES_BY_HAND,)
    return (TOO_LATE,) if floor_c < PEARLITE_C else ()
