"""Uniformity survey: how far the places of a chamber lie from the set temperature."""

import math
import re
from collections.abc import Sequence
from typing import Any

from kilnctl.clock import say_day
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.logbook.entries import CareDone, Survey, in_force
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
# The keys of the oven file that it rests on: the oven, and what its own sensor says and where.
_RESTS_ON = ("power", "supply", "build", "elements")
_SENSOR = ("device", "table", "register", "field", "couple", "unit", "scale", "offset")
# What `care done` calls a change of the oven, in its owner's words; who only looked changed nothing.
_PARTS = (
    r"element|coil|heater|sensor|couple|probe|lining|brick|fibre|insulation|seal|shelf|shelves|fan\b|build"
)
_LOOKED = r"check|inspect|look|clean|brush|calibrat|measur|test"
_CHANGED = r"\bnew|renew|replac|chang|swap|mov(?:e|ing)|rebuil|relin|repair|fitted"


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
    low_k, high_k, rests_on = round(low_k, 2), round(high_k, 2), values_of(oven)
    return Survey(oven.name, at_c, tuple(readings), low_k, high_k, loaded, who, note, most_c, rests_on)


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


def surveys_of(reader: Reader, oven: Oven) -> tuple[Surveyed, ...]:
    """Return what is known of the hottest place of an oven, the newest survey of each temperature.

    One that the oven has been changed since, or that nobody can have measured, says why it no longer counts.
    """
    newest: list[Surveyed] = []
    for row, found in in_force(reader, Survey, oven.name):
        way_k = None if found.most_c is None else max(found.most_c - found.at_c, found.high_k)
        if max(abs(found.low_k), abs(found.high_k)) <= FAR_K:
            newest = [s for s in newest if abs(s.at_c - found.at_c) > SAME_K]
        why = why_ended(reader, oven, row.utc_s, found)
        newest.append(Surveyed(found.at_c, found.high_k, way_k, say_day(row.utc_s), why))
    return tuple(newest)


def why_ended(reader: Reader, oven: Oven, utc_s: float, survey: Survey, until_utc: float = math.inf) -> str:
    """Return why a survey that was kept at `utc_s` no longer counts for this oven; empty where it does.

    `until_utc` leaves out what was done later, where an old heat is told of.
    """
    far_k = max(survey.low_k, survey.high_k, key=abs)
    if abs(far_k) > FAR_K or (survey.most_c or 0.0) - survey.at_c > FAR_ON_THE_WAY_K:
        return "it has a place that is not believed: °C for °F?"
    every = ((row.utc_s, done) for row, done in in_force(reader, CareDone, oven.name))
    done = [(when, what) for when, what in every if utc_s < when <= until_utc and _rebuilt(what)]
    if done:
        return f'"{done[-1][1].what}" was done on {say_day(done[-1][0])}'
    then, now = survey.rests_on or {}, values_of(oven)
    # What was not written then and is now describes the same oven.
    gone = [name for name, value in then.items() if now.get(name) != value]
    return f"{gone[0]} has changed in the oven file" if gone else ""


def values_of(oven: Oven) -> dict[str, Any]:
    """Return the values of the oven file that a survey rests on, by their keys."""
    file = oven.model_dump(mode="json", by_alias=True, exclude_defaults=True)
    # What the sensor has by default is a value too: an offset that comes later moves every reading.
    sensor = oven.signal.process.model_dump(mode="json", by_alias=True)
    return {key: file[key] for key in _RESTS_ON if key in file} | {
        f"signal.process.{key}": sensor[key] for key in _SENSOR if key in sensor
    }


def _rebuilt(done: CareDone) -> bool:
    """Return whether something was done that moves what lies between the oven's sensor and its places."""
    said = f"{done.what} {done.note}".lower()
    looked = re.search(_LOOKED, said) and not re.search(_CHANGED, said)
    return bool(re.search(_PARTS, said)) and not looked
