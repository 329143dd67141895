"""Calibration by one or two points with a cap, and the fixed points that need no reference instrument.

A correction may move a sound sensor a little; it must never hide a bad one.
"""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from kilnctl.care.offset_of_file import CAP_K
from kilnctl.errors import ConfigError
from kilnctl.logbook.entries import Calibration, in_force
from kilnctl.logbook.readers import Entry, Reader
from kilnctl.units import say_point

LEAST_APART_K = 10.0
# Ice and boiling water; a reference instrument beside the sensor. Common practice, no single source.
# A reference whose own error is stated still lies a little apart from the sensor: PLACED_K.
POINT_K, REFERENCE_K, PLACED_K = 0.5, 1.5, 1.0
MOST_ERROR_K = 3.5
UNKNOWN_SLOPE = 0.0075  # class 2 of IEC 60584-1
Pair = tuple[float, float]
PAIR = re.compile(r"(.+?)\s+is\s+(.+)")  # a reading and its reference, as a person writes them

# ITS-90 freezing points (Preston-Thomas 1990) in degC.
FIXED_POINTS_C = {"tin": 231.928, "zinc": 419.527, "aluminium": 660.323}
_LOOK_K = 15.0
_SLOPE_WINDOW_S = 30.0
_LEAST_PLATEAU_S = 60.0


@dataclass(frozen=True, slots=True)
class Correction:
    """corrected = gain * reading + offset_c, degC in and out."""

    gain: float = 1.0
    offset_c: float = 0.0

    def corrected_c(self, reading_c: float) -> float:
        """Return the corrected temperature in degC."""
        return self.gain * reading_c + self.offset_c

    def shift_k(self, reading_c: float) -> float:
        """Return by how much a reading is moved, in K."""
        return self.corrected_c(reading_c) - reading_c


def fitted(points: Sequence[Pair]) -> Correction:
    """Return the correction through one or two (reading, reference) pairs in degC: a shift, or a line.

    Raises ConfigError for two points that lie too near each other.
    """
    low, high = points[0], points[-1]
    if len(points) == 1:
        return Correction(1.0, high[1] - high[0])
    if high[0] - low[0] < LEAST_APART_K:
        raise ConfigError(
            f"the two points must lie at least {LEAST_APART_K:.0f} K apart, low one first; "
            f"these are {low[0]:g} C and {high[0]:g} C"
        )
    gain = (high[1] - low[1]) / (high[0] - low[0])
    return Correction(gain, high[1] - gain * high[0])


def insist(calibration: Calibration, used_to_c: float, limit_c: float) -> None:
    """Raise ConfigError, saying why, for a calibration that may not be used up to a temperature, degC."""
    if vague := _too_vague(calibration, used_to_c):
        hotter = any(used_to_c > reading for reading, _ in calibration.points)
        raise ConfigError(f"{vague}, or give the hottest use with --used-to" if hotter else vague)
    if far := _too_far(calibration, used_to_c, limit_c):
        raise ConfigError(far)


def why_unsound(calibration: Calibration, used_to_c: float, limit_c: float) -> str:
    """Say why a calibration may not be used up to a temperature, degC; empty where it may.

    Known worse than to 3.5 K there: its points prove nothing so much hotter, or colder. More than
    10 K at a point, there or at the oven's limit: such a sensor is replaced, not corrected.
    """
    return _too_vague(calibration, used_to_c) or _too_far(calibration, used_to_c, limit_c)


def _too_vague(calibration: Calibration, used_to_c: float) -> str:
    error_k = calibrated_error_k(calibration, used_to_c)
    if error_k <= MOST_ERROR_K:
        return ""
    if not calibration.points:
        return "its error there is unknown: calibrate at a hotter point"
    cure = "a colder point too" if used_to_c < calibration.points[0][0] else "a hotter point"
    return f"good only to {error_k:.1f} K at {say_point(used_to_c)}: calibrate at {cure}"


def _too_far(calibration: Calibration, used_to_c: float, limit_c: float) -> str:
    found = correction_of(calibration)
    for at_c in (*(reading for reading, _ in calibration.points), used_to_c, limit_c):
        shift_k = found.shift_k(at_c)
        if abs(shift_k) > CAP_K:
            return (
                f"at {at_c:g} C the sensor would need {shift_k:+.1f} K; more than {CAP_K:g} K is "
                "refused: replace the sensor (or look for a wrong type, reversed leads or a wrong place)"
            )
    return ""


def correction_of(calibration: Calibration) -> Correction:
    """Return what a calibration does to a reading."""
    return Correction(calibration.gain, calibration.offset_c)


def point_error_k(points: Sequence[Pair], stated_k: float | None = None, weather_k: float = 0.0) -> float:
    """Return how well the reference points are known, K: melting ice says itself what it is.

    `stated_k` is the reference's own limit of error, as its certificate says (None: usual ones); `weather_k`
    how far boiling water may be off. Raises ConfigError for a reference that is too poor to correct anything.
    """
    if stated_k is not None and not 0.0 <= stated_k <= MOST_ERROR_K:
        raise ConfigError(
            f"a reference that may be {stated_k:g} K off corrects nothing: {MOST_ERROR_K:g} K at most"
        )
    in_water = any(reference_c == 0.0 for _, reference_c in points)
    if in_water:
        return math.hypot(POINT_K if stated_k is None else stated_k, weather_k)
    return REFERENCE_K if stated_k is None else math.hypot(stated_k, PLACED_K)


def calibrated_error_k(calibration: Calibration, at_c: float) -> float:
    """Return how far a reading that a calibration corrects may still be off at a temperature, K.

    At the least as far as it was found to be when it was measured again.
    """
    point_k = calibration.point_k
    if point_k is None:  # an older program kept none
        point_k = point_error_k(calibration.points)
    return max(limit_of_error_k(calibration.points, at_c, point_k), abs(calibration.as_left_k or 0.0))


def reference_words(calibration: Calibration) -> str:
    """Return what was compared with, and how far that may be off where it was said."""
    stated_k = calibration.reference_k
    return calibration.reference if stated_k is None else f"{calibration.reference}, ±{stated_k:g} K"


def limit_of_error_k(points: Sequence[Pair], at_c: float, point_k: float = POINT_K) -> float:
    """Return how far a corrected reading may still be off at a temperature, K, as a limit of error.

    Each point is good to `point_k`; a line through two of them carries their errors on by the lever rule.
    Away from a single point the sensor's slope is unknown within class 2 of its wire; without a point
    everything is.
    """
    if not points:
        return math.inf
    if len(points) == 1:
        return point_k + UNKNOWN_SLOPE * abs(at_c - points[0][0])
    (low_c, _), (high_c, _) = points[0], points[-1]
    lever = math.hypot(at_c - low_c, high_c - at_c) / (high_c - low_c)
    return point_k * max(1.0, lever)


def calibrations_of(
    reader: Reader, oven: str, until_utc: float = math.inf
) -> Mapping[str, tuple[Entry, Calibration]]:
    """Return the newest calibration of each sensor of an oven, with its entry; none that was taken away."""
    newest = {
        found.sensor: (row, found)
        for row, found in in_force(reader, Calibration, oven)
        if row.utc_s <= until_utc
    }
    return {sensor: one for sensor, one in newest.items() if not one[1].taken_away}


def corrections_of(reader: Reader, oven: str) -> dict[str, tuple[int, Correction]]:
    """Return the correction of each sensor of an oven and its entry's number.

    Whoever applies one in a run writes its number into the header's `commissioning`: pages say of no other
    that it was in force.
    """
    return {
        sensor: (row.number, correction_of(found))
        for sensor, (row, found) in calibrations_of(reader, oven).items()
    }


def uncorrected_c(reader: Reader, run: int, recorded_c: float) -> float:
    """Return what the process sensor itself read where a run recorded a temperature, degC."""
    info, applied = reader.run(run), reader.header(run).commissioning
    row, found = calibrations_of(reader, info.oven, info.started_utc).get("process", (None, None))
    if row is None or found is None or row.number not in applied:
        return recorded_c
    return (recorded_c - found.offset_c) / found.gain


def largest_error_k(pairs: Sequence[Pair]) -> float:
    """Return the largest difference (reference minus reading) of the pairs in K, with its sign."""
    return max((reference - reading for reading, reference in pairs), key=abs)


def drifting(errors_k: Sequence[float]) -> bool:
    """Return True when the last three as-found errors grow in one direction: the sensor wears out."""
    if len(errors_k) < 3:
        return False
    one, two, three = errors_k[-3:]
    return 0.0 < one < two < three or 0.0 > one > two > three


def plateau_c(at_s: NDArray[np.float64], reading_c: NDArray[np.float64], expected_c: float) -> float:
    """Return the temperature at which a freezing metal (or boiling water) held the reading, degC.

    Looked for within 15 K of the expected value: the longest stretch of at least 60 s whose slope is less
    than a quarter of the usual slope there. Raises ConfigError when there is none.
    """
    near = np.abs(reading_c - expected_c) < _LOOK_K
    at_s, reading_c = at_s[near], reading_c[near]
    if len(at_s) < 10:
        raise ConfigError(f"the record never comes near {expected_c:g} C")
    slope = np.abs(_slopes(at_s, reading_c))
    start, stop = _longest(slope <= max(np.quantile(slope, 0.9) / 4.0, 1e-9))
    if stop <= start or at_s[stop - 1] - at_s[start] < _LEAST_PLATEAU_S:
        raise ConfigError(
            f"no plateau of a minute near {expected_c:g} C; cool more slowly, with the sensor in the metal"
        )
    return float(np.median(reading_c[start:stop]))


def _slopes(at_s: NDArray[np.float64], reading_c: NDArray[np.float64]) -> NDArray[np.float64]:
    before = np.interp(at_s - _SLOPE_WINDOW_S / 2, at_s, reading_c)
    after = np.interp(at_s + _SLOPE_WINDOW_S / 2, at_s, reading_c)
    return np.asarray((after - before) / _SLOPE_WINDOW_S)


def _longest(flags: NDArray[np.bool_]) -> tuple[int, int]:
    """Return the longest stretch of True as (start, stop)."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], flags.astype(np.int8), [0]))))
    starts, stops = edges[::2], edges[1::2]
    if len(starts) == 0:
        return 0, 0
    best = int(np.argmax(stops - starts))
    return int(starts[best]), int(stops[best])
