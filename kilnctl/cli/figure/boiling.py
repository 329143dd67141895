"""Where water boils here: figure boiling."""

from typing import Annotated

from cyclopts import Parameter

from kilnctl.cli.figure.figure_answer import FigureAnswer, say_fine, show
from kilnctl.cli.terminal.options import Json
from kilnctl.errors import ConfigError
from kilnctl.units import parse_height_m, parse_pressure_hpa


def boiling(
    *,
    height: Annotated[str | None, Parameter(allow_leading_hyphen=True)] = None,
    pressure: Annotated[str | None, Parameter(allow_leading_hyphen=True)] = None,
    as_json: Json = False,
) -> int:
    """Work out where water boils, from height or from the day's air pressure.

    Parameters
    ----------
    height
        Height above sea level ("650 m", "2100 ft").
    pressure
        Air pressure at the place, not reduced to the sea ("940 hPa", "27.8 inHg"; a bare number is hPa).
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
    return show(
        FigureAnswer(
            asked=f"water at {height} above sea level:" if height else f"water at {air_hpa:g} hPa:",
            rows=tuple(rows),
            source="standard atmosphere ISO 2533; boiling by IAPWS R7-97(2012), the steam tables",
            assumed="clean water, a rolling boil, the tip in the water and clear of the pot",
            beware=("with ice it proves a sensor up to about 200 °C; it proves nothing at a furnace's heat",),
            data={"boils_c": at_c, "low_c": low_c, "high_c": high_c, "pressure_hpa": air_hpa},
        ),
        as_json,
    )
