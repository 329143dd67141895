"""Quantities as people write them. Points, differences and rates of temperature are different types.

Inside the program numbers are plain floats whose unit stands in their name (`_c`, `_k`, `_c_per_h`,
`_s`, `_w`, `_mm`); text with a unit is read here, once, at the edge. A bare number is refused.
"""

import math
import re
from collections.abc import Callable
from datetime import date, time

from kilnctl.errors import UnitError

ABSOLUTE_ZERO_C = -273.15
DAY_S = 86_400.0
# Nothing that is heated here comes near these; a number beyond them is a slip of the keyboard.
HOTTEST_C, LONGEST_S = 3000.0, 100_000 * 3600.0
_NUMBER = r"([+-]?[0-9]+(?:\.[0-9]+)?)"
_LONGEST = 60  # characters; longer is no quantity
_ONE = re.compile(rf"^\s*{_NUMBER}\s*(.*?)\s*$")
_TIME_PART = re.compile(r"\s*([0-9]+(?:\.[0-9]+)?)\s*(hours|hour|min|ms|h|s)(?![a-z])\s*", re.IGNORECASE)
_TIME_S = {"h": 3600.0, "hour": 3600.0, "hours": 3600.0, "min": 60.0, "s": 1.0, "ms": 0.001}


def c_from_f(f: float) -> float:
    """Convert a temperature point in degF to degC."""
    return (f - 32.0) / 1.8


def f_from_c(c: float) -> float:
    """Convert a temperature point in degC to degF."""
    return c * 1.8 + 32.0


def written_in_c(value: float) -> bool:
    """True where a temperature or a rate has at most one decimal in °C: one written in °F seldom has."""
    return abs(value * 10.0 - round(value * 10.0)) < 0.01


def _shown(value: object) -> str:
    """Return a value as messages show it: one line, cut where it is long."""
    if isinstance(value, date | time):  # TOML has both without quotes
        return f"{value.isoformat()}, which is a {'time of day' if isinstance(value, time) else 'date'},"
    text = str(value).lower() if isinstance(value, bool) else repr(value)
    odd = next((one for one in text if one.isalpha() and not one.isascii() and one not in "µμ"), "")
    text = text if len(text) <= _LONGEST else f"{text[:_LONGEST]}…"
    return f"{text} ({odd} is no Latin letter)" if odd else text


def _split(text: object, what: str, example: str) -> tuple[float, str]:
    if isinstance(text, bool | int | float):
        raise UnitError(f'{_shown(text)} needs a unit to be a {what}; write it like "{example}"')
    match = _ONE.match(text) if isinstance(text, str) and len(text) <= _LONGEST else None
    if match is None or not math.isfinite(float(match[1])):
        raise UnitError(f'cannot read {_shown(text)} as a {what}; write it like "{example}"')
    return float(match[1]), match[2].replace("°", "").replace("deg", "").strip()


def parse_point_c(text: object) -> float:
    """Read a temperature point ("218 C", "425F", "491 K" is refused) and return degC.

    Raises UnitError for a bare number (both readings are shown), a foreign unit, or a value below
    absolute zero.
    """
    if isinstance(text, int | float) and not isinstance(text, bool):
        raise UnitError(_both_readings(text))
    value, unit = _split(text, "temperature", "218 C")
    if unit == "":
        raise UnitError(_both_readings(value))
    if unit.upper() not in ("C", "F"):
        raise UnitError(f'cannot read {_shown(text)} as a temperature; write it like "218 C" or "425 F"')
    point_c = value if unit.upper() == "C" else c_from_f(value)
    if point_c < ABSOLUTE_ZERO_C:
        raise UnitError(f"{text!r} is below absolute zero")
    if point_c > HOTTEST_C:
        raise UnitError(f"{text!r} is hotter than any oven ({HOTTEST_C:.0f} C)")
    return point_c


def _both_readings(value: float) -> str:
    if not ABSOLUTE_ZERO_C <= value <= 2 * HOTTEST_C:
        return f'{_shown(value)} is not a temperature; write it like "218 C" or "425 F"'
    return (
        f'{value:g} needs a unit: write "{value:g} C" (= {f_from_c(value):.1f} F) '
        f'or "{value:g} F" (= {c_from_f(value):.1f} C)'
    )


def parse_difference_k(text: object) -> float:
    """Read a temperature difference ("5 K", "5 C", "9 F") and return kelvin: 10 C is 18 F, never 50 F."""
    value, unit = _split(text, "temperature difference", "5 K")
    factor = {"K": 1.0, "C": 1.0, "F": 1.0 / 1.8}.get(unit.upper())
    if factor is None:
        raise UnitError(
            f'cannot read {_shown(text)} as a temperature difference; write it like "5 K" or "9 F"'
        )
    return value * factor


def parse_rate_c_per_h(text: object) -> float:
    """Read a heating or cooling rate ("150 C/h", "5 F/min") and return degC per hour."""
    value, unit = _split(text, "rate", "150 C/h")
    scale, _, per = unit.replace(" ", "").partition("/")
    factor = {"C": 1.0, "K": 1.0, "F": 1.0 / 1.8}.get(scale.upper())
    per_h = {"h": 1.0, "min": 60.0, "s": 3600.0}.get(per.lower())
    if factor is None or per_h is None:
        raise UnitError(f'cannot read {_shown(text)} as a rate; write it like "150 C/h" or "3 C/min"')
    return value * factor * per_h


def parse_duration_s(text: object) -> float:
    """Read a duration ("2h", "2h 30min", "90 s") and return seconds. "2:00" and bare numbers are refused."""
    if not isinstance(text, int | float | str) or isinstance(text, bool):
        raise UnitError(f'cannot read {_shown(text)} as a duration; write it like "2h 30min" or "90 s"')
    if not isinstance(text, str) or len(text) > _LONGEST:
        raise UnitError(f'{_shown(text)} needs a unit to be a duration; write it like "2h 30min" or "90 s"')
    if text.lstrip().startswith("-"):
        raise UnitError(f'{text!r}: a duration cannot be negative; write it like "2h 30min" or "90 s"')
    position, total_s, last = 0, 0.0, math.inf
    while position < len(text):
        match = _TIME_PART.match(text, position)
        factor = _TIME_S[match[2].lower()] if match else 0.0
        if match is None or factor >= last or not math.isfinite(float(match[1]) * factor):
            raise UnitError(f'cannot read {_shown(text)} as a duration; write it like "2h 30min" or "90 s"')
        position, last = match.end(), factor
        total_s += float(match[1]) * factor
    if total_s > LONGEST_S:
        raise UnitError(f"{text!r} is longer than {LONGEST_S / 3600:.0f} hours")
    if position == 0:
        raise UnitError('an empty text is not a duration; write it like "2h 30min"')
    return total_s


def _simple(what: str, example: str, factors: dict[str, float]) -> Callable[[object], float]:
    def parse(text: object) -> float:
        value, unit = _split(text, what, example)
        if unit not in factors:
            raise UnitError(f'cannot read {_shown(text)} as a {what}; write it like "{example}"')
        return value * factors[unit]

    parse.__doc__ = f'Read a {what} like "{example}".'
    return parse


_INCH_MM = 25.4
_LENGTHS = '6 mm" or "1/4 in'
_FRACTION = re.compile(r"\s*(?:([0-9]+)[\s-]+)?([0-9]+)/([1-9][0-9]*)\s*(?:in|inch|inches|\")\s*")
_MM_OF = {"mm": 1.0, "cm": 10.0, "in": _INCH_MM, "inch": _INCH_MM, "inches": _INCH_MM, '"': _INCH_MM}


def parse_length_mm(text: object) -> float:
    """Read a length ("6 mm", "0.25 in", "1 1/2 in", '1/4"') and return mm."""
    fraction = _FRACTION.fullmatch(text) if isinstance(text, str) and len(text) <= _LONGEST else None
    if fraction is not None:
        return (int(fraction[1] or 0) + int(fraction[2]) / int(fraction[3])) * _INCH_MM
    value, unit = _split(text, "length", _LENGTHS)
    if unit not in _MM_OF:
        raise UnitError(f'cannot read {_shown(text)} as a length; write it like "{_LENGTHS}"')
    return value * _MM_OF[unit]


parse_height_m = _simple("height", "650 m", {"m": 1.0, "ft": 0.3048})
_HPA_OF = {"": 1.0, "hPa": 1.0, "mbar": 1.0, "kPa": 10.0, "inHg": 33.8639, "mmHg": 1.333224}
_PRESSURE = re.compile(r"\s*(\d+(?:\.\d+)?)\s*(hPa|mbar|kPa|inHg|mmHg|)\s*")


def parse_pressure_hpa(text: str) -> float:
    """Read an air pressure ("940 hPa", "27.8 inHg"; a bare number is hPa) and return hPa."""
    match = _PRESSURE.fullmatch(text) if len(text) <= _LONGEST else None
    if match is None:
        raise UnitError(f'"{text}" is not an air pressure; write it like "940 hPa" or "27.8 inHg"')
    return float(match[1]) * _HPA_OF[match[2]]


parse_power_w = _simple("power", "2400 W", {"W": 1.0, "kW": 1000.0})
parse_mass_kg = _simple("mass", "0.3 kg", {"kg": 1.0, "g": 0.001, "lb": 0.45359237, "oz": 0.028349523125})
parse_voltage_v = _simple("voltage", "230 V", {"V": 1.0})


def say_point(c: float) -> str:
    """Return a temperature in both units, as people read it: "218 C (424 F)"."""
    return f"{c:.0f} °C ({f_from_c(c):.0f} °F)"


def say_rate(c_per_h: float) -> str:
    """Return a rate in both units, as people read it: "150 °C/h (270 °F/h)"."""
    return f"{c_per_h:.0f} °C/h ({c_per_h * 1.8:.0f} °F/h)"


def say_mm(mm: float) -> str:
    """Return a size in both units: "6 mm (0.236 in)"."""
    return f"{mm:.3g} mm ({mm / 25.4:.3f} in)"


def say_duration(seconds: float) -> str:
    """Return a duration as people read it: "2 h 05 min", "7 s"."""
    whole = round(seconds)
    if whole < 120:
        return f"{whole} s"
    hours, minutes = divmod(round(whole / 60), 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"
