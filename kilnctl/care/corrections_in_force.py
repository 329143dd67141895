"""The corrections in force for an oven, of its logbook and of its file, judged for a heat before it begins.

However one came there (two points, one, an older program, a copy of another logbook, a number typed into the
oven file): the heat that would use it judges it where it holds, by the rule that `care calibrate` goes by.
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
from kilnctl.care.offset_of_file import unjudged
from kilnctl.clock import say_day
from kilnctl.config import home
from kilnctl.config.oven import Oven
from kilnctl.logbook.readers import Reader
from kilnctl.profile.segments import Profile, Soak
from kilnctl.units import say_point

# A soak of these only brings part or oven nearer to what follows.
ON_THE_WAY = ("preheat", "cold treatment", "first firing", "tune")


@dataclass(frozen=True, slots=True)
class Judged:
    """What is said of the corrections of a heat: `notes` of the sound ones, `refusals` of the others."""

    notes: tuple[str, ...] = ()
    refusals: tuple[str, ...] = ()


def judged_here(oven: Oven, profile: Profile) -> Judged:
    """Judge the corrections of an oven for a heat, by its file and by the logbook of this computer."""
    if not home.logbook_path().is_file():
        return judged(oven, profile)
    with Reader(home.logbook_path()) as reader:
        return judged(oven, profile, reader)


def judged(oven: Oven, profile: Profile, reader: Reader | None = None) -> Judged:
    """Judge the corrections of an oven for a heat, at its peak and at the coldest soak that treats."""
    found = [] if reader is None else list(_judge(reader, oven, profile))
    return Judged(
        tuple(said for said, why in found if not why),
        (*unjudged(oven), *(f"{said}: {why}" for said, why in found if why)),
    )


def _judge(reader: Reader, oven: Oven, profile: Profile) -> Iterator[tuple[str, str]]:
    peak_c = profile.peak_c
    soaks_c = [s.held_c for s in profile.segments if isinstance(s, Soak) and s.purpose not in ON_THE_WAY]
    for sensor, (row, found) in calibrations_of(reader, oven.name).items():
        unsound = (why_unsound(found, at_c, oven.limit_c) for at_c in (peak_c, min(soaks_c, default=peak_c)))
        why, shift_k = next(filter(None, unsound), ""), correction_of(found).shift_k(peak_c)
        said = (
            f"the {sensor} sensor is corrected by {shift_k:+.1f} K at {say_point(peak_c)} "
            f"(calibrated {say_day(row.utc_s)}, {reference_words(found)})"
        )
        if why:
            yield said, f"{why}, or take it away: kilnctl care take-away {oven.name} {sensor}"
        else:
            yield f"{said}, good to ± {calibrated_error_k(found, peak_c):.1f} K there", ""
