"""Uniformity survey: how far the places of a chamber lie from the set temperature."""

from collections.abc import Sequence

from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.logbook.entries import Survey, in_force
from kilnctl.logbook.readers import Reader
from kilnctl.model.surveyed import SAME_K, Surveyed
from kilnctl.units import c_from_f, f_from_c, say_point

# Bands in K of the furnace classes of SAE AMS 2750F, as two furnace builders print its table. For orientation
# only: a survey by that standard asks much more than these numbers.
CLASS_BANDS_K = {1: 3.0, 2: 6.0, 3: 8.0, 4: 10.0, 5: 14.0, 6: 28.0}
# Five sensors for a small work zone (from memory of the same standard).
LEAST_POSITIONS = 5
# Further from the hold no place is believed: °C for °F are 62 K at 100 °C, more above. Beside the door of
# invented ovens the chamber was up to 56 K hotter than the sensor. On the way there it may be more.
FAR_K, FAR_ON_THE_WAY_K = 60.0, 100.0


def deviations(at_c: float, readings: Sequence[tuple[str, float]]) -> tuple[float, float]:
    """Return the lowest and highest deviation from `at_c` in K.

    Raises ConfigError under five positions, and for a reading that is too far from the hold.
    """
    if len({name for name, _ in readings}) < LEAST_POSITIONS:
        raise ConfigError(f"a survey needs readings at {LEAST_POSITIONS} different positions or more")
    for name, value in readings:
        _insist_near(name, value, at_c, FAR_K)
    found = [value - at_c for _, value in readings]
    return min(found), max(found)


def survey_of(
    oven: Oven,
    at_c: float,
    readings: Sequence[tuple[str, float]],
    most_c: float | None,
    *,
    loaded: bool,
    who: str,
    note: str,
) -> Survey:
    """Return a survey as it is kept. Raises ConfigError for one that nobody can have measured."""
    low_k, high_k = deviations(at_c, readings)
    if most_c is not None:
        _insist_near("the highest on the way", most_c, at_c, FAR_ON_THE_WAY_K)
        hold_c = min(at_c, at_c + high_k)
        if most_c < hold_c:
            raise ConfigError(
                f"the highest on the way, {say_point(most_c)}, lies below the hold's {say_point(hold_c)}: "
                "write the highest that any place read until it was held"
            )
    return Survey(
        oven.name, at_c, tuple(readings), round(low_k, 2), round(high_k, 2), loaded, who, note, most_c
    )


def _insist_near(what: str, value_c: float, at_c: float, far_k: float) -> None:
    off_k = value_c - at_c
    if abs(off_k) <= far_k:
        return
    slips = min(abs(c_from_f(value_c) - at_c), abs(f_from_c(value_c) - at_c)) <= far_k
    why = (
        "°C written for °F, there or for the hold?"
        if slips
        else "a slip of the pen, or the oven's sensor sits where it does not show the chamber: move it"
    )
    raise ConfigError(
        f"{what}: {say_point(value_c)} lies {off_k:+.0f} K from the hold's {say_point(at_c)}; a survey takes "
        f"{far_k:.0f} K at most: {why}"
    )


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
