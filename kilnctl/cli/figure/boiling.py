"""Where water boils here: figure boiling."""

from typing import Annotated

from cyclopts import Parameter

from kilnctl.cli.figure.figure_answer import FigureAnswer, say_difference, say_fine, show
from kilnctl.cli.figure.inputs import ANY_CASE, heat_c
from kilnctl.cli.figure.uncertainty import Grade, Sensor
from kilnctl.cli.terminal.options import Json, refuse_unused
from kilnctl.errors import ConfigError
from kilnctl.units import parse_height_m, parse_pressure_hpa


def boiling(
    *,
    height: Annotated[str | None, Parameter(allow_leading_hyphen=True)] = None,
    pressure: Annotated[str | None, Parameter(allow_leading_hyphen=True)] = None,
    reads: Annotated[str | None, Parameter(allow_leading_hyphen=True)] = None,
    ice: Annotated[str | None, Parameter(allow_leading_hyphen=True)] = None,
    couple: Annotated[Sensor, ANY_CASE] | None = None,
    wire: Annotated[Grade, ANY_CASE] | None = None,
    as_json: Json = False,
) -> int:
    """Work out where water boils, from height or air pressure, and how far off a sensor reads in it.

    Parameters
    ----------
    height
        Height above sea level ("650 m", "2100 ft").
    pressure
        Air pressure at the place, not reduced to the sea ("940 hPa", "27.8 inHg"; a bare number is hPa).
    reads
        What the sensor reads in the boiling water there ("98.2 C"): say by how much it is off.
    ice
        What it reads in crushed ice and water ("0.6 C"), which is 0 C at any height.
    couple
        The type of couple, or Pt100; left out, K.
    wire
        Its class; left out, class 2 (IEC 60584-1), of a Pt100 class B (IEC 60751).
    as_json
        Print one JSON object.
    """
    from kilnctl.care.boiling import WEATHER_HPA, boiling_at_c, pressure_hpa

    if (height is None) == (pressure is None):
        raise ConfigError('give either --height "650 m" or --pressure 940 (hPa at the place)')
    air_hpa = (
        pressure_hpa(parse_height_m(height)) if height is not None else parse_pressure_hpa(pressure or "")
    )
    at_c = boiling_at_c(air_hpa)
    spread = 0.0 if height is None else WEATHER_HPA
    low_c, high_c = (boiling_at_c(air_hpa + s) for s in (-spread, spread))
    rows = [("boils at", say_fine(at_c)), ("pressure", f"{air_hpa:.0f} hPa")]
    if height is not None:
        rows.append(("weather", f"{say_fine(low_c)} to {say_fine(high_c)} from a deep low to a strong high"))
    if reads is None and ice is None:
        refuse_unused("nothing was read: give --reads or --ice", couple=couple, wire=wire)
    sensor = couple or "K"
    grade = wire or ("class B" if sensor == "Pt100" else "class 2")
    read = [("in boiling water", reads, at_c, (high_c - low_c) / 2.0), ("in ice", ice, 0.0, 0.0)]
    checks = [
        _off(name, text, true_c, more_k, (sensor, grade)) for name, text, true_c, more_k in read if text
    ]
    rows += [row for row, _ in checks]
    return show(
        FigureAnswer(
            asked=f"water at {height} above sea level:" if height else f"water at {air_hpa:g} hPa:",
            rows=tuple(rows),
            source="standard atmosphere ISO 2533; boiling by IAPWS R7-97(2012), the steam tables"
            + (
                f"; class: {'IEC 60751' if sensor == 'Pt100' else 'IEC 60584-1 or ASTM E230'}"
                if checks
                else ""
            ),
            assumed="clean water, a rolling boil, the tip in the water and clear of the pot",
            beware=("with ice it proves a sensor up to about 200 °C; it proves nothing at a furnace's heat",),
            data={
                "boils_c": at_c,
                "low_c": low_c,
                "high_c": high_c,
                "pressure_hpa": air_hpa,
                **_data(checks),
            },
        ),
        as_json,
    )


def _off(
    name: str, text: str, true_c: float, more_k: float, sensor: tuple[str, str]
) -> tuple[tuple[str, str], dict[str, float]]:
    """Return by how much a sensor reads wrong, and whether new wire of its class may, as row and data.

    `more_k` is how far the bath itself may be from what it is taken for. Raises UnitError for no temperature.
    """
    from kilnctl.report.uncertainty import pt100_k, wire_k

    couple, grade = sensor
    off_k = heat_c(text) - true_c
    limit_k = pt100_k(grade, true_c) if couple == "Pt100" else wire_k(couple, grade, true_c)
    size_k = round(abs(off_k), 2)
    if size_k + more_k <= limit_k:
        verdict = "INSIDE"
    elif size_k - more_k > limit_k:
        verdict = "OUTSIDE"
    else:
        verdict = "NOT SURE, the weather decides: give --pressure"
    way = "high" if off_k > 0.0 else "low"
    said = f"reads {say_difference(abs(off_k))} {way}: {verdict}; {couple} {grade} is ± "
    said += f"{say_difference(limit_k)}, of the wire alone"
    key = name.rsplit(maxsplit=1)[-1]
    return (name, said), {
        f"{key}_off_k": off_k,
        f"{key}_limit_k": limit_k,
    }


def _data(checks: list[tuple[tuple[str, str], dict[str, float]]]) -> dict[str, float]:
    return {key: value for _, found in checks for key, value in found.items()}
