"""How far a reading can be trusted: figure uncertainty."""

from typing import TYPE_CHECKING, Literal

from kilnctl.cli.figure.figure_answer import FigureAnswer, say_difference, say_span_c, show
from kilnctl.cli.figure.inputs import Quantity, heat_c
from kilnctl.cli.terminal.options import Json
from kilnctl.errors import UnitError
from kilnctl.units import parse_difference_k, say_point

if TYPE_CHECKING:
    from kilnctl.report.uncertainty import Component

MOST_K = 100.0


def uncertainty(
    temperature: Quantity,
    couple: Literal["K", "J", "N", "T", "E", "R", "S", "B"],
    /,
    *,
    wire: Literal["class 1", "class 2", "standard", "special"] = "class 2",
    instrument: Quantity | None = None,
    drift: Quantity | None = None,
    uniformity: Quantity | None = None,
    oven: str | None = None,
    as_json: Json = False,
) -> int:
    """Work out how far the part may be from what is shown: wire, instrument, drift and place together.

    Parameters
    ----------
    temperature
        The reading.
    couple
        The type of couple.
    wire
        Its tolerance: class 1 or class 2 (IEC 60584-1), standard or special (ASTM E230).
    instrument
        Limit of error of the instrument and its cold junction ("2 K"); left out, 2 K.
    drift
        What the couple may have moved in use ("3 K").
    uniformity
        Half the spread of a survey of the chamber ("5 K").
    oven
        An oven whose newest calibration and survey count, in place of new wire and for the uniformity.
    as_json
        Print one JSON object.
    """
    from kilnctl.care.couple_wire import SOURCE, say_wire
    from kilnctl.cli.figure.measured_oven import measured_on
    from kilnctl.report.uncertainty import combine

    at_c = heat_c(temperature)
    measured = {} if oven is None else measured_on(oven, at_c)
    named = {"instrument": instrument, "drift": drift, "uniformity": uniformity}
    parts = _sensor(couple, wire, at_c, measured, instrument is None)
    parts += _named(named, measured)
    there = {part.name for part in parts if part.half_width_k > 0.0}
    left_out = [
        name for name in named if name not in there | ({"instrument"} if "sensor" in there else set())
    ]
    found = combine(parts)
    said = " ".join(filter(None, (instrument, drift, uniformity))).upper()
    degrees = "; what is given in C or F is a difference" if set("CF") & set(said) else ""
    rests = (
        "new wire within its class" if "sensor" not in measured else "nothing moved since it was calibrated"
    )
    worst_k = sum(part.half_width_k for part in parts)
    rows = [
        ("together", f"± {say_difference(found.expanded_k)}, 95 of 100 times"),
        ("the part is at", say_span_c(at_c - found.expanded_k, at_c + found.expanded_k)),
        *((p.name, f"± {say_difference(p.half_width_k)}{_how_measured(p, measured)}") for p in parts),
        ("at worst", f"± {say_difference(worst_k)}, all one way"),
        ("its wire", say_wire(couple, at_c)),
    ]
    return show(
        FigureAnswer(
            asked=f"{say_point(at_c)} shown by a type {couple} couple:",
            rows=tuple(rows),
            source="IEC 60584-1 or ASTM E230 for the wire; JCGM 100:2008 (rectangular limits, k = 2); "
            f"{SOURCE}",
            assumed=f"{rests}; left out: {', '.join(left_out) or 'nothing'}{degrees}",
            data={
                "expanded_k": found.expanded_k,
                "worst_k": worst_k,
                **{p.name: p.half_width_k for p in parts},
            },
        ),
        as_json,
    )


def _how_measured(part: "Component", measured: "dict[str, Component]") -> str:
    return f": {part.source}" if part in measured.values() else ""


def _sensor(
    couple: str, wire: str, at_c: float, measured: "dict[str, Component]", usual_instrument: bool
) -> "tuple[Component, ...]":
    """Return the limits of the sensor: as calibrated with its converter, else of new wire and a usual one."""
    from kilnctl.report.uncertainty import INSTRUMENT_K, Component, wire_k

    if "sensor" in measured:
        return (measured["sensor"],)
    new = Component(f"{couple} {wire}", wire_k(couple, wire, at_c), "tolerance of new wire")
    usual = Component("instrument", INSTRUMENT_K, "common practice")
    return (new, usual) if usual_instrument else (new,)


def _named(asked: dict[str, str | None], measured: "dict[str, Component]") -> "tuple[Component, ...]":
    """Return what was typed; a survey stands in for a uniformity that was not."""
    from kilnctl.report.uncertainty import Component

    typed = [Component(n, _limit_k(said), f"--{n}") for n, said in asked.items() if said is not None]
    surveyed = [measured["uniformity"]] if "uniformity" in measured and not asked["uniformity"] else []
    return tuple(part for part in (*typed, *surveyed) if part.half_width_k > 0.0)


def _limit_k(text: str) -> float:
    found_k = parse_difference_k(text)
    if not 0.0 <= found_k <= MOST_K:
        raise UnitError(f'"{text}" is not a limit of error: 0 to {MOST_K:.0f} K')
    return found_k
