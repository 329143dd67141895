"""Where water boils here: figure boiling."""

from typing import Annotated

from cyclopts import Parameter

from kilnctl.cli.figure.figure_answer import FigureAnswer, say_fine, show
from kilnctl.cli.terminal.options import Json
from kilnctl.errors import ConfigError
from kilnctl.units import parse_height_m

WEATHER_HPA = 30.0


def boiling(
    *,
    height: Annotated[str | None, Parameter(allow_leading_hyphen=True)] = None,
    pressure: float | None = None,
    as_json: Json = False,
) -> int:
    """Say where water boils, by height or by the air pressure of the day.

    Parameters
    ----------
    height
        Height above the sea ("650 m", "2100 ft").
    pressure
        Air pressure at the place in hPa, not reduced to the sea.
    as_json
        Print one JSON object.
    """
    from kilnctl.care.boiling import boiling_at_c, pressure_hpa

    if (height is None) == (pressure is None):
        raise ConfigError('give either --height "650 m" or --pressure 940 (hPa at the place)')
    air_hpa = pressure_hpa(parse_height_m(height)) if height is not None else pressure
    assert air_hpa is not None
    at_c = boiling_at_c(air_hpa)
    spread = 0.0 if height is None else WEATHER_HPA
    low_c, high_c = (boiling_at_c(air_hpa + s) for s in (-spread, spread))
    rows = [("boils at", say_fine(at_c)), ("pressure", f"{air_hpa:.0f} hPa")]
    if height is not None:
        rows.append(("weather", f"{say_fine(low_c)} to {say_fine(high_c)} from a deep low to a strong high"))
    return show(
        FigureAnswer(
            asked=f"water at {height} above the sea:" if height else f"water at {air_hpa:g} hPa:",
            rows=tuple(rows),
            source="standard atmosphere ISO 2533; vapour pressure of water by Antoine's equation",
            assumed="clean water, a rolling boil, the tip in the water and clear of the pot",
            data={"boils_c": at_c, "low_c": low_c, "high_c": high_c, "pressure_hpa": air_hpa},
        ),
        as_json,
    )
