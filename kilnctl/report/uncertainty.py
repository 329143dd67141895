"""How far the temperature on the page can be trusted: stated parts, and what nobody measured."""

import math
from dataclasses import dataclass

from kilnctl.errors import ConfigError

# Class 2 of IEC 60584-1: the greater of a fixed error in K and a fraction of the temperature in degC.
CLASS_2 = {
    "K": (2.5, 0.0075),
    "J": (2.5, 0.0075),
    "E": (2.5, 0.0075),
    "N": (2.5, 0.0075),
    "T": (1.0, 0.0075),
    "S": (1.5, 0.0025),
    "R": (1.5, 0.0025),
    "B": (1.5, 0.0025),
}
# The better class of the same standard, and both classes of ASTM E230/E230M (two reproductions agree).
WIRE = {
    "class 2": CLASS_2,
    "class 1": {
        **{letter: (1.5, 0.004) for letter in ("K", "J", "E", "N")},
        "T": (0.5, 0.004),
        "R": (1.0, 0.0),
        "S": (1.0, 0.0),
    },
    "standard": {
        **{letter: (2.2, 0.0075) for letter in ("K", "N", "J")},
        "E": (1.7, 0.005),
        "T": (1.0, 0.0075),
        "R": (1.5, 0.0025),
        "S": (1.5, 0.0025),
    },
    "special": {
        **{letter: (1.1, 0.004) for letter in ("K", "N", "J")},
        "E": (1.0, 0.004),
        "T": (0.5, 0.004),
        "R": (0.6, 0.001),
        "S": (0.6, 0.001),
    },
}
# Class 1 of R and S: 1 K to 1100 degC, and then 0.3 % of what lies above it more.
NOBLE_CLASS_1 = (("class 1", "R"), ("class 1", "S"))
NOBLE_FROM_C, NOBLE_RISE = 1100.0, 0.003
# A resistance of platinum: a fixed error in K and a fraction of the temperature in degC, added; and to how
# many degC a wound and a film element keep the class (IEC 60751:2008, from memory).
PT100 = {
    "class AA": (0.10, 0.0017, 250.0, 150.0),
    "class A": (0.15, 0.0020, 450.0, 300.0),
    "class B": (0.30, 0.0050, 600.0, 500.0),
    "class C": (0.60, 0.0100, 600.0, 600.0),
}
# Converter and cold junction, where nothing is known of them: common practice, no single source.
INSTRUMENT_K = 2.0
# A sensor maker's published series for type K at 350 degC: 1.9 K high after 45 min, 3.7 K after 7 h.
DRIFT_OF_K = "drift of a used type K couple: 3.7 K high was measured after 7 h at 350 °C"


@dataclass(frozen=True, slots=True)
class Component:
    """One limit of error, +/- `half_width_k`, and where it comes from."""

    name: str
    half_width_k: float
    source: str


@dataclass(frozen=True, slots=True)
class Statement:
    """Expanded uncertainty in K (coverage factor 2), its parts, and what was left out for want of data."""

    expanded_k: float
    components: tuple[Component, ...]
    missing: tuple[str, ...]


def wire_k(couple: str, grade: str, at_c: float) -> float:
    """Return the tolerance of new wire of a class at a temperature, K. Raises ConfigError for none."""
    if couple not in WIRE.get(grade, {}):
        raise ConfigError(f'no {grade} tolerance is known for a sensor "{couple}"')
    fixed, fraction = WIRE[grade][couple]
    rising = NOBLE_RISE * (at_c - NOBLE_FROM_C) if (grade, couple) in NOBLE_CLASS_1 else 0.0
    return max(fixed, fraction * abs(at_c), fixed + rising)


def pt100_k(grade: str, at_c: float) -> float:
    """Return the tolerance of a new Pt100 of a class, K. Raises ConfigError for no class, or beyond it."""
    if grade not in PT100:
        raise ConfigError(f"a Pt100 is of {', '.join(PT100)} (IEC 60751), not of {grade}")
    fixed, fraction, wound_c, _ = PT100[grade]
    if not -196.0 <= at_c <= wound_c:
        raise ConfigError(f"a Pt100 of {grade} ends at {wound_c:.0f} C: hotter takes a thermocouple")
    return fixed + fraction * abs(at_c)


def pt100_ohm(at_c: float) -> float:
    """Return the resistance of a Pt100, ohm (Callendar and Van Dusen, IEC 60751:2008)."""
    below = -4.183e-12 * (at_c - 100.0) * at_c**3 if at_c < 0.0 else 0.0
    return 100.0 * (1.0 + 3.9083e-3 * at_c - 5.775e-7 * at_c**2 + below)


def combine(components: tuple[Component, ...], missing: tuple[str, ...] = ()) -> Statement:
    """Return U = 2 sqrt(sum((a / sqrt 3)^2)): rectangular limits, coverage factor 2 (JCGM 100:2008)."""
    variance = sum((c.half_width_k / math.sqrt(3.0)) ** 2 for c in components)
    return Statement(2.0 * math.sqrt(variance), components, missing)
