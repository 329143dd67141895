"""Heat content, conductivity and elongation of carbon steel, EN 1993-1-2:2005 clause 3.4.1.

The standard is for structural steel: high-carbon steel has the same spike near 725-750 degC. Heat content
(enthalpy) is used instead of specific heat, so that a long step cannot jump over the spike.
"""

import math
from dataclasses import dataclass
from functools import cache

DENSITY_KG_PER_M3 = 7850.0
_STEP_J_PER_KG = 250.0
_COLDEST_C = -200.0
# From one entry of the table to the next is at most 0.6 K: so many steps leave less than 1e-9 K.
_NEWTON = 4


def specific_heat_j_per_kg_k(at_c: float) -> float:
    """Return the specific heat of carbon steel (EN 1993-1-2:2005, 3.4.1.2); below 20 degC the value there."""
    t = 20.0 if at_c < 20.0 else at_c
    if t < 600.0:
        return 425.0 + 0.773 * t - 1.69e-3 * t**2 + 2.22e-6 * t**3
    if t < 735.0:
        return 666.0 + 13002.0 / (738.0 - t)
    return 545.0 + 17820.0 / (t - 731.0) if t < 900.0 else 650.0


def conductivity_w_per_m_k(at_c: float) -> float:
    """Return the thermal conductivity of carbon steel (EN 1993-1-2:2005, 3.4.1.3)."""
    return 54.0 - 0.0333 * at_c if at_c < 800.0 else 27.3


def elongation(at_c: float) -> float:
    """Return by which share of its length carbon steel is longer than at 20 degC, to 1200 degC (3.4.1.1)."""
    if at_c < 750.0:
        return 1.2e-5 * at_c + 0.4e-8 * at_c**2 - 2.416e-4
    return 1.1e-2 if at_c <= 860.0 else 2.0e-5 * at_c - 6.2e-3


def heat_content_j_per_kg(at_c: float) -> float:
    """Return the heat that steel took up from 20 degC: the integral of the specific heat, in closed form."""
    if at_c < 20.0:
        return (at_c - 20.0) * specific_heat_j_per_kg_k(20.0)
    total = _low(min(at_c, 600.0)) - _low(20.0)
    if at_c > 600.0:
        t = min(at_c, 735.0)
        total += 666.0 * (t - 600.0) + 13002.0 * math.log(138.0 / (738.0 - t))
    if at_c > 735.0:
        t = min(at_c, 900.0)
        total += 545.0 * (t - 735.0) + 17820.0 * math.log((t - 731.0) / 4.0)
    return total + 650.0 * max(0.0, at_c - 900.0)


def _low(t: float) -> float:
    return 425.0 * t + 0.773 / 2 * t**2 - 1.69e-3 / 3 * t**3 + 2.22e-6 / 4 * t**4


@dataclass(frozen=True, slots=True)
class SteelHeat:
    """A heat content that can be read both ways in constant time.

    `constant_j_per_kg_k` replaces the standard's curve by one value, for comparison with closed forms.
    """

    constant_j_per_kg_k: float | None = None

    def content(self, at_c: float) -> float:
        """Return the heat content in J/kg above 20 degC."""
        fixed = self.constant_j_per_kg_k
        return heat_content_j_per_kg(at_c) if fixed is None else fixed * (at_c - 20.0)

    def capacity(self, at_c: float) -> float:
        """Return the specific heat in J/(kg K)."""
        return self.constant_j_per_kg_k or specific_heat_j_per_kg_k(at_c)

    def temperature(self, content: float) -> float:
        """Return the temperature in degC at a heat content in J/kg (to 0.01 K where the curve is smooth)."""
        if self.constant_j_per_kg_k is not None:
            return 20.0 + content / self.constant_j_per_kg_k
        first, table = _table()
        place = (content - first) / _STEP_J_PER_KG
        index = int(place) if place > 0.0 else 0
        index = index if index < len(table) - 1 else len(table) - 2
        low = table[index]
        return low + (table[index + 1] - low) * (place - index)


EN_CARBON_STEEL = SteelHeat()


@cache
def _table() -> tuple[float, tuple[float, ...]]:
    """Return the first heat content and temperatures at equal steps of heat content, by Newton's method."""
    first, last = heat_content_j_per_kg(_COLDEST_C), heat_content_j_per_kg(1400.0)
    table = [_COLDEST_C]
    for i in range(1, int((last - first) / _STEP_J_PER_KG) + 2):
        at_c = table[-1]
        for _ in range(_NEWTON):
            missing = first + i * _STEP_J_PER_KG - heat_content_j_per_kg(at_c)
            at_c += missing / specific_heat_j_per_kg_k(at_c)
        table.append(at_c)
    return first, tuple(table)
