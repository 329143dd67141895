"""The corrections that the logbook has in force for an oven, judged for a heat before it begins.

However one came there (two points, one, an older program, a copy of another logbook): the heat that would
use it judges it, at its own highest temperature, by the rule that `care calibrate` goes by.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from kilnctl.care.calibration import (
    calibrated_error_k,
    calibrations_of,
    correction_of,
    reference_words,
    why_unsound,
)
from kilnctl.clock import say_day
from kilnctl.logbook.readers import Reader
from kilnctl.units import say_point


@dataclass(frozen=True, slots=True)
class Judged:
    """What is said of the corrections of a heat: `notes` of the sound ones, `refusals` of the others."""

    notes: tuple[str, ...] = ()
    refusals: tuple[str, ...] = ()


def judged(reader: Reader, oven: str, limit_c: float, peak_c: float) -> Judged:
    """Judge the corrections of an oven for a heat up to `peak_c`; `limit_c` is the oven's own limit."""
    found = list(_judge(reader, oven, limit_c, peak_c))
    return Judged(
        tuple(said for said, why in found if not why), tuple(f"{said}: {why}" for said, why in found if why)
    )


def _judge(reader: Reader, oven: str, limit_c: float, peak_c: float) -> Iterator[tuple[str, str]]:
    for sensor, (row, found) in calibrations_of(reader, oven).items():
        why, shift_k = why_unsound(found, peak_c, limit_c), correction_of(found).shift_k(peak_c)
        said = (
            f"the {sensor} sensor is corrected by {shift_k:+.1f} K at {say_point(peak_c)} "
            f"(calibrated {say_day(row.utc_s)}, {reference_words(found)})"
        )
        if why:
            yield said, f"{why}, or take it away: kilnctl care take-away {oven} {sensor}"
        else:
            yield f"{said}, good to ± {calibrated_error_k(found, peak_c):.1f} K there", ""
