"""Where water boils: by the pressure of the day, or by the height above the sea in usual weather.

The standard atmosphere of ISO 2533; Antoine's equation with the constants of handbooks.
"""

import math

from kilnctl.errors import ConfigError

# Pressure over height: standard atmosphere, ISO 2533 (troposphere).
SEA_HPA, LAPSE_PER_M, POWER = 1013.25, 2.25577e-5, 5.25588
# Vapour pressure of water from 1 to 100 degC, Antoine's equation (mm of mercury), as handbooks give it and
# half a dozen public codes have it.
ANTOINE_A, ANTOINE_B, ANTOINE_C = 8.07131, 1730.63, 233.426
MMHG_PER_HPA = 0.750062
LOWEST_M, HIGHEST_M = -500.0, 9000.0
LOWEST_HPA, HIGHEST_HPA = 300.0, 1100.0


def pressure_hpa(above_m: float) -> float:
    """Return the air's pressure at a height above the sea, usual weather; weather moves it by 30 hPa.

    Raises ConfigError for a height where nobody works.
    """
    if not LOWEST_M <= above_m <= HIGHEST_M:
        raise ConfigError(f"{above_m:g} m above sea level: {LOWEST_M:.0f} to {HIGHEST_M:.0f} m can be said")
    return SEA_HPA * float((1.0 - LAPSE_PER_M * above_m) ** POWER)


def boiling_at_c(air_hpa: float) -> float:
    """Return where water boils at a pressure (degC), to 0.1 K. Raises ConfigError outside 300 to 1100 hPa."""
    if not LOWEST_HPA <= air_hpa <= HIGHEST_HPA:
        raise ConfigError(
            f"{air_hpa:g} hPa is not an air pressure: {LOWEST_HPA:.0f} to {HIGHEST_HPA:.0f} hPa"
        )
    return ANTOINE_B / (ANTOINE_A - math.log10(air_hpa * MMHG_PER_HPA)) - ANTOINE_C


def boiling_c(above_m: float) -> float:
    """Return where water boils (degC) at a height above the sea (m), in usual weather within 1 K."""
    return boiling_at_c(pressure_hpa(above_m))
