"""Where water boils in this workshop, by a height above sea level or the day's air pressure."""

import re

from kilnctl.errors import UnitError
from kilnctl.units import parse_height_m, parse_pressure_hpa

_HEIGHT = re.compile(r".*\d\s*(m|ft)\s*")
_PRESSURE = re.compile(r".*\d\s*[A-Za-z]+\s*")


def boils_here(place: str) -> tuple[float, float]:
    """Return where water boils (degC), and how far the weather may move that (K; none at a known pressure).

    Raises UnitError for what is neither a height nor a pressure, ConfigError where nobody works.
    """
    from kilnctl.care.boiling import boiling_at_c, boiling_c, weather_k

    if _HEIGHT.fullmatch(place):
        above_m = parse_height_m(place)
        return boiling_c(above_m), weather_k(above_m)
    if _PRESSURE.fullmatch(place):
        return boiling_at_c(parse_pressure_hpa(place)), 0.0
    raise UnitError(f'"{place}" says not where; write a height ("650 m") or an air pressure ("938 hPa")')
