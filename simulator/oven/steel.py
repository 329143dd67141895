"""Heat capacity, heat content and conductivity of carbon steel, with the heat of transformation.

EN 1993-1-2:2005, 3.4.1 (carbon steel). The standard is written for structural steel: its peak stands at
735 degC, which for high-carbon steel is about right (725-750 degC, common practice, no single source).
"""

import math
from functools import cache

DENSITY = 7850.0  # kg/m3, EN 1993-1-2 3.2.2
LOWEST_C, HIGHEST_C = -50.0, 1000.0  # above, heat capacity is constant and melting left out
NEWTON = 4  # steps from one entry to the next, for 1e-9 K
HEAT_STEP = 250.0  # J/kg between entries of the inverse table: 0.05 K in the peak, 0.4 K elsewhere


def heat_capacity(steel_c: float) -> float:
    """Return c in J/kgK at a temperature in degC."""
    t = max(steel_c, 20.0)
    if t < 600.0:
        return 425.0 + 0.773 * t - 1.69e-3 * t**2 + 2.22e-6 * t**3
    if t < 735.0:
        return 666.0 + 13002.0 / (738.0 - t)
    return 545.0 + 17820.0 / (t - 731.0) if t < 900.0 else 650.0


def conductivity(steel_c: float) -> float:
    """Return k in W/mK at a temperature in degC."""
    return 54.0 - 0.0333 * steel_c if steel_c < 800.0 else 27.3


def _cold(t: float) -> float:
    return 425.0 * t + 0.773 * t**2 / 2 - 1.69e-3 * t**3 / 3 + 2.22e-6 * t**4 / 4


def heat_content(steel_c: float) -> float:
    """Return the heat in J/kg above 0 degC: the integral of `heat_capacity` in closed form."""
    t = steel_c
    if t <= 20.0:
        return _cold(20.0) + heat_capacity(20.0) * (t - 20.0)
    if t <= 600.0:
        return _cold(t)
    below_peak = min(t, 735.0)
    content = _cold(600.0) + 666.0 * (below_peak - 600.0) + 13002.0 * math.log(138.0 / (738.0 - below_peak))
    if t > 735.0:
        above = min(t, 900.0)
        content += 545.0 * (above - 735.0) + 17820.0 * math.log((above - 731.0) / 4.0)
    return content + 650.0 * max(0.0, t - 900.0)


@cache
def temperatures() -> tuple[float, ...]:
    """Return temperatures in degC at equal steps of heat content, from LOWEST_C on."""
    table = [LOWEST_C]
    content = heat_content(LOWEST_C)
    while table[-1] < HIGHEST_C:
        content += HEAT_STEP
        steel_c = table[-1]
        for _ in range(NEWTON):
            steel_c += (content - heat_content(steel_c)) / heat_capacity(steel_c)
        table.append(steel_c)
    return tuple(table)
