"""Uniformity survey: how far the places of a chamber lie from the set temperature."""

from collections.abc import Sequence

from kilnctl.errors import ConfigError
from kilnctl.logbook.entries import Survey, in_force
from kilnctl.logbook.readers import Reader
from kilnctl.model.surveyed import Surveyed

# Bands in K of the furnace classes of SAE AMS 2750F, as two furnace builders print its table. For orientation
# only: a survey by that standard asks much more than these numbers.
CLASS_BANDS_K = {1: 3.0, 2: 6.0, 3: 8.0, 4: 10.0, 5: 14.0, 6: 28.0}
# Five sensors for a small work zone (from memory of the same standard).
LEAST_POSITIONS = 5
# A later survey within so much of an earlier one takes its place.
SAME_K = 10.0


def deviations(at_c: float, readings: Sequence[tuple[str, float]]) -> tuple[float, float]:
    """Return the lowest and highest deviation from `at_c` in K. Raises ConfigError under five positions."""
    if len({name for name, _ in readings}) < LEAST_POSITIONS:
        raise ConfigError(f"a survey needs readings at {LEAST_POSITIONS} different positions or more")
    found = [value - at_c for _, value in readings]
    return min(found), max(found)


def orientation(low_k: float, high_k: float) -> str:
    """Say between which class bands a survey lies, for orientation only."""
    largest = max(abs(low_k), abs(high_k))
    inside = [band for band in CLASS_BANDS_K.values() if largest <= band]
    outside = [band for band in CLASS_BANDS_K.values() if largest > band]
    words = [f"inside ±{min(inside):g} K"] if inside else []
    words += [f"outside ±{max(outside):g} K"] if outside else []
    return f"{low_k:+.1f}/{high_k:+.1f} K: {', '.join(words)} (class bands, for orientation only)"


def surveys_of(reader: Reader, oven: str) -> tuple[Surveyed, ...]:
    """Return what is known of the hottest place of an oven, the newest survey of each temperature."""
    newest: list[Surveyed] = []
    for _, found in in_force(reader, Survey, oven):
        way_k = None if found.most_c is None else max(found.most_c - found.at_c, found.high_k)
        newest = [s for s in newest if abs(s.at_c - found.at_c) > SAME_K]
        newest.append(Surveyed(found.at_c, found.high_k, way_k))
    return tuple(newest)
