"""Uniformity survey: how far the places of a chamber lie from the set temperature."""

from collections.abc import Sequence

from kilnctl.errors import ConfigError

# Bands in K of the furnace classes of SAE AMS 2750F, as two furnace builders print its table. For orientation
# only: a survey by that standard asks much more than these numbers.
CLASS_BANDS_K = {1: 3.0, 2: 6.0, 3: 8.0, 4: 10.0, 5: 14.0, 6: 28.0}
# Five sensors for a small work zone (from memory of the same standard).
LEAST_POSITIONS = 5


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
