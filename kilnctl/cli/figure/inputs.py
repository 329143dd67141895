"""What the questions are asked with, read and bounded once: what cannot be is refused in one line."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated, Any, get_args

from cyclopts import Parameter, Token, convert

from kilnctl.errors import ConfigError, UnitError
from kilnctl.units import f_from_c, parse_duration_s, parse_length_mm, parse_mass_kg, parse_point_c

if TYPE_CHECKING:
    from kilnctl.treatment.steel.steels import Steel

# "-78 C" begins like an option and is none; "-2h" is refused by who knows why.
Quantity = Annotated[str, Parameter(allow_leading_hyphen=True)]


def _in_any_case(kind: Any, tokens: Sequence[Token]) -> Any:
    """Return one of the words of a Literal, however it is written: "k" and "PT100" are K and Pt100."""
    words = {word.casefold(): word for word in get_args(kind)}
    values = [words.get(token.value.strip().casefold(), token.value) for token in tokens]
    return convert(kind, [token.evolve(value=value) for token, value in zip(tokens, values, strict=True)])


ANY_CASE = Parameter(converter=_in_any_case)
LEAST_CARBON, MOST_CARBON = 0.05, 2.1
THINNEST_MM, THICKEST_MM = 0.05, 200.0
LONGEST_MM = 10_000.0
HOTTEST_C, COLDEST_C = 1400.0, -200.0
LONGEST_S = 1000 * 3600.0
# Austenite begins near 720 degC in carbon steel: what is hotter is no temper, and no dose counts it.
HOTTEST_TEMPER_C = 720.0


def metal(steel: str | None, carbon: float | None) -> "tuple[Steel | None, float, str]":
    """Return the card (or None), the carbon content in per cent, and both in words.

    Raises ConfigError where neither or both are given; ProfileError for an unknown grade.
    """
    from kilnctl.treatment.steel.steels import load_steel

    if (steel is None) == (carbon is None):
        raise ConfigError("give either --steel O1 or --carbon 0.95 (per cent)")
    if steel is not None:
        card = load_steel(steel)
        return card, card.carbon, f"{card.grade} ({card.carbon:g} % C)"
    assert carbon is not None
    if not LEAST_CARBON <= carbon <= MOST_CARBON:
        raise ConfigError(f"{carbon:g} % carbon is not a steel: {LEAST_CARBON:g} to {MOST_CARBON:g} %")
    return None, carbon, f"{carbon:g} % C"


def maybe_metal(steel: str | None, carbon: float | None) -> "tuple[Steel | None, float | None, str]":
    """Return what `metal` does; (None, None, "") where no metal is named. Raises what `metal` raises."""
    return (None, None, "") if steel is None and carbon is None else metal(steel, carbon)


def heat_c(text: str) -> float:
    """Return a temperature of the shop in degC. Raises UnitError below -200 or above 1400 degC."""
    at_c = parse_point_c(text)
    if not COLDEST_C <= at_c <= HOTTEST_C:
        raise UnitError(f'"{text}" is outside {COLDEST_C:.0f} to {HOTTEST_C:.0f} C')
    return at_c


def temper_c(text: str) -> float:
    """Return the temperature of a temper in degC. Raises UnitError where steel turns to austenite."""
    at_c = heat_c(text)
    if at_c > HOTTEST_TEMPER_C:
        raise UnitError(
            f'"{text}" is no temper: above {HOTTEST_TEMPER_C:.0f} C ({f_from_c(HOTTEST_TEMPER_C):.0f} F) '
            "the steel transforms, and its cooling decides how hard it gets"
        )
    return at_c


def time_s(text: str) -> float:
    """Return a duration in seconds. Raises UnitError for no time at all, and for more than 1000 hours."""
    found_s = parse_duration_s(text)
    if not 0.0 < found_s <= LONGEST_S:
        raise UnitError(f'"{text}" is not a time: it must be more than zero and at most 1000 h')
    return found_s


def size_mm(text: str) -> float:
    """Return a thickness in mm. Raises UnitError outside 0.05 to 200 mm."""
    found_mm = parse_length_mm(text)
    if not THINNEST_MM <= found_mm <= THICKEST_MM:
        raise UnitError(f'"{text}" is not the thickness of a part: {THINNEST_MM:g} mm to {THICKEST_MM:g} mm')
    return found_mm


def length_mm(text: str) -> float:
    """Return a length in mm. Raises UnitError outside 0.05 mm to 10 m."""
    found_mm = parse_length_mm(text)
    if not THINNEST_MM <= found_mm <= LONGEST_MM:
        raise UnitError(
            f'"{text}" is not the length of a part: {THINNEST_MM:g} mm to {LONGEST_MM / 1000:g} m'
        )
    return found_mm


def mass_kg(text: str) -> float:
    """Return a mass in kg. Raises UnitError for nothing, less, or more than a tonne."""
    found_kg = parse_mass_kg(text)
    if not 0.0 < found_kg <= 1000.0:
        raise UnitError(f'"{text}" must be more than zero and at most a tonne')
    return found_kg


def share(value: float, what: str) -> float:
    """Return per cent as a fraction. Raises ConfigError outside 0 to 100."""
    if not 0.0 < value <= 100.0:
        raise ConfigError(f"{what} must be more than 0 and at most 100 per cent, not {value:g}")
    return value / 100.0


def at_least(value: float, least: float, what: str) -> float:
    """Return the value. Raises ConfigError below `least` or where it is no number."""
    if not least <= value < 1e6:
        raise ConfigError(f"{what} must be at least {least:g}, not {value:g}")
    return value
