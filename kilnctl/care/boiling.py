"""Where water boils: by the pressure of the day, or by the height above the sea in usual weather.

The standard atmosphere of ISO 2533; the saturation line of water by IAPWS R7-97(2012), region 4.
"""

import math
import re

from kilnctl.errors import ConfigError, UnitError
from kilnctl.units import parse_height_m, parse_pressure_hpa

# Pressure over height: standard atmosphere, ISO 2533 (troposphere).
SEA_HPA, LAPSE_PER_M, POWER = 1013.25, 2.25577e-5, 5.25588
# By how much strong weather moves the pressure: common practice, no single source.
WEATHER_HPA = 30.0
# Coefficients n1 to n10 of the saturation equation, IAPWS R7-97(2012), table 34; kelvins and megapascals.
_N = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)
_ZERO_C_K, _HPA_PER_MPA = 273.15, 1.0e4
LOWEST_M, HIGHEST_M = -500.0, 9000.0
LOWEST_HPA, HIGHEST_HPA = 300.0, 1100.0
_HEIGHT = re.compile(r".*\d\s*(m|ft)\s*")
_PRESSURE = re.compile(r".*\d\s*[A-Za-z]+\s*")


def boils_here(place: str) -> tuple[float, float]:
    """Return where water boils (degC) at a place as typed ("650 m", "938 hPa"), and what weather adds, K.

    None at a known pressure. Raises UnitError for what is neither a height nor a pressure,
    ConfigError where nobody works.
    """
    if _HEIGHT.fullmatch(place):
        above_m = parse_height_m(place)
        return boiling_c(above_m), weather_k(above_m)
    if _PRESSURE.fullmatch(place):
        return boiling_at_c(parse_pressure_hpa(place)), 0.0
    raise UnitError(f'"{place}" does not say where: give a height ("650 m") or an air pressure ("938 hPa")')


def pressure_hpa(above_m: float) -> float:
    """Return the air's pressure at a height above the sea, usual weather; weather moves it by 30 hPa.

    Raises ConfigError for a height where nobody works.
    """
    if not LOWEST_M <= above_m <= HIGHEST_M:
        raise ConfigError(f"{above_m:g} m above sea level: {LOWEST_M:.0f} to {HIGHEST_M:.0f} m can be said")
    return SEA_HPA * float((1.0 - LAPSE_PER_M * above_m) ** POWER)


def boiling_at_c(air_hpa: float) -> float:
    """Return where water boils at a pressure (degC). Raises ConfigError outside 300 to 1100 hPa."""
    if not LOWEST_HPA <= air_hpa <= HIGHEST_HPA:
        raise ConfigError(
            f"{air_hpa:g} hPa is not an air pressure: {LOWEST_HPA:.0f} to {HIGHEST_HPA:.0f} hPa"
        )
    return saturation_c(air_hpa / _HPA_PER_MPA)


def saturation_c(mpa: float) -> float:
    """Return where water boils (degC) at a pressure of 0.00061 to 22 MPa: IAPWS R7-97(2012), equation 31."""
    beta = math.sqrt(math.sqrt(mpa))
    e = beta**2 + _N[2] * beta + _N[5]
    f = _N[0] * beta**2 + _N[3] * beta + _N[6]
    g = _N[1] * beta**2 + _N[4] * beta + _N[7]
    d = 2.0 * g / (-f - math.sqrt(f * f - 4.0 * e * g))
    total = _N[9] + d
    return (total - math.sqrt(total * total - 4.0 * (_N[8] + _N[9] * d))) / 2.0 - _ZERO_C_K


def boiling_c(above_m: float) -> float:
    """Return where water boils (degC) at a height above the sea (m), in usual weather within 1 K."""
    return boiling_at_c(pressure_hpa(above_m))


def weather_k(above_m: float) -> float:
    """Return how far the weather may move boiling water at a height above the sea, K."""
    usual_hpa = pressure_hpa(above_m)
    return boiling_at_c(usual_hpa) - boiling_at_c(usual_hpa - WEATHER_HPA)
