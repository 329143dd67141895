"""How far a reading can be trusted: figure uncertainty."""

from typing import TYPE_CHECKING, Annotated, Literal

from kilnctl.cli.figure.figure_answer import FigureAnswer, say_difference, say_span_c, show
from kilnctl.cli.figure.inputs import ANY_CASE, Quantity, heat_c
from kilnctl.cli.terminal.options import Json
from kilnctl.errors import UnitError
from kilnctl.units import parse_difference_k, say_point

if TYPE_CHECKING:
    from kilnctl.report.uncertainty import Component

MOST_K = 100.0
Sensor = Literal["K", "J", "N", "T", "E", "R", "S", "B", "Pt100"]
Grade = Literal["class 1", "class 2", "standard", "special", "class AA", "class A", "class B", "class C"]


def uncertainty(
    temperature: Quantity,
    couple: Annotated[Sensor, ANY_CASE],
    /,
    *,
    wire: Annotated[Grade, ANY_CASE] | None = None,
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
        The type of couple, or Pt100.
    wire
        Its tolerance: class 1 or class 2 (IEC 60584-1; left out, class 2), standard or special (ASTM E230);
        of a Pt100 class AA, A, B or C (IEC 60751; left out, class B).
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
    from kilnctl.cli.figure.measured_oven import measured_on
    from kilnctl.report.uncertainty import combine

    at_c = heat_c(temperature)
    measured = {} if oven is None else measured_on(oven, at_c)
    named = {"instrument": instrument, "drift": drift, "uniformity": uniformity}
    grade = wire or ("class B" if couple == "Pt100" else "class 2")
    parts = _sensor(couple, grade, at_c, measured, instrument is None)
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
        _what_it_is(couple, grade, at_c),
    ]
    return show(
        FigureAnswer(
            asked=f"{say_point(at_c)} shown by a {couple if couple == 'Pt100' else f'type {couple} couple'}:",
            rows=tuple(rows),
            source=f"{_standards(couple)}; JCGM 100:2008 (rectangular limits, k = 2)",
            assumed=f"{rests}; left out: {', '.join(left_out) or 'nothing'}{degrees}",
            data={
                "expanded_k": found.expanded_k,
                "worst_k": worst_k,
                **{p.name: p.half_width_k for p in parts},
            },
        ),
        as_json,
    )


def _what_it_is(couple: str, grade: str, at_c: float) -> tuple[str, str]:
    """Return which wire a couple needs there; of a Pt100 its resistance, and how hot its class reaches."""
    from kilnctl.care.couple_wire import say_wire
    from kilnctl.report.uncertainty import PT100, pt100_ohm

    if couple != "Pt100":
        return "its wire", say_wire(couple, at_c)
    _, _, wound_c, film_c = PT100[grade]
    return "it measures", (
        f"{pt100_ohm(at_c):.2f} ohm; {grade} holds to {wound_c:.0f} °C wound, {film_c:.0f} °C as a film. On "
        "two wires each ohm of lead reads 2.6 K high: take three or four"
    )


def _standards(couple: str) -> str:
    from kilnctl.care.couple_wire import SOURCE

    if couple == "Pt100":
        return "IEC 60751:2008 (from memory)"
    return f"IEC 60584-1 or ASTM E230 for the wire; {SOURCE}"


def _how_measured(part: "Component", measured: "dict[str, Component]") -> str:
    return f": {part.source}" if part in measured.values() else ""


def _sensor(
    couple: str, wire: str, at_c: float, measured: "dict[str, Component]", usual_instrument: bool
) -> "tuple[Component, ...]":
    """Return the limits of the sensor: as calibrated with its converter, else of new wire and a usual one."""
    from kilnctl.report.uncertainty import INSTRUMENT_K, Component, pt100_k, wire_k

    if "sensor" in measured:
        return (measured["sensor"],)
    limit_k = pt100_k(wire, at_c) if couple == "Pt100" else wire_k(couple, wire, at_c)
    new = Component(f"{couple} {wire}", limit_k, "tolerance of new wire")
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
