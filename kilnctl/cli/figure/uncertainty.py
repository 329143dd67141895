"""How far a reading can be trusted: figure uncertainty."""

from typing import Literal

from kilnctl.cli.figure.figure_answer import FigureAnswer, say_difference, say_span_c, show
from kilnctl.cli.figure.inputs import Quantity, heat_c
from kilnctl.cli.terminal.options import Json
from kilnctl.errors import UnitError
from kilnctl.units import parse_difference_k, say_point

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
    as_json
        Print one JSON object.
    """
    from kilnctl.report.uncertainty import INSTRUMENT_K, Component, combine, wire_k

    at_c = heat_c(temperature)
    named = [
        ("instrument", INSTRUMENT_K if instrument is None else _limit_k(instrument), "--instrument"),
        ("drift", 0.0 if drift is None else _limit_k(drift), "--drift"),
        ("uniformity", 0.0 if uniformity is None else _limit_k(uniformity), "--uniformity"),
    ]
    parts: tuple[Component, ...] = (
        Component(f"{couple} {wire}", wire_k(couple, wire, at_c), "tolerance of new wire"),
    )
    parts += tuple(Component(name, k, source) for name, k, source in named if k > 0.0)
    left_out = [name for name, k, _ in named if k == 0.0]
    found = combine(parts)
    said = " ".join(filter(None, (instrument, drift, uniformity))).upper()
    degrees = "; what is given in C or F is a difference" if set("CF") & set(said) else ""
    worst_k = sum(part.half_width_k for part in parts)
    rows = [
        ("together", f"± {say_difference(found.expanded_k)}, 95 of 100 times"),
        ("the part is at", say_span_c(at_c - found.expanded_k, at_c + found.expanded_k)),
        *((part.name, f"± {say_difference(part.half_width_k)}") for part in parts),
        ("at worst", f"± {say_difference(worst_k)}, all one way"),
    ]
    return show(
        FigureAnswer(
            asked=f"{say_point(at_c)} shown by a type {couple} couple:",
            rows=tuple(rows),
            source="IEC 60584-1 or ASTM E230 for the wire; JCGM 100:2008 (rectangular limits, k = 2)",
            assumed=f"new wire within its class; left out: {', '.join(left_out) or 'nothing'}{degrees}",
            data={
                "expanded_k": found.expanded_k,
                "worst_k": worst_k,
                **{p.name: p.half_width_k for p in parts},
            },
        ),
        as_json,
    )


def _limit_k(text: str) -> float:
    found_k = parse_difference_k(text)
    if not 0.0 <= found_k <= MOST_K:
        raise UnitError(f'"{text}" is not a limit of error: 0 to {MOST_K:.0f} K')
    return found_k
