"""The command that shows what a thing needs: what is due, its counters, its calibrations. care due."""

from typing import TYPE_CHECKING

from kilnctl.cli.record.open_logbook import COMPLETE, opened
from kilnctl.cli.terminal.tell import tell
from kilnctl.clock import RealClock, say_day
from kilnctl.errors import ConfigError
from kilnctl.units import say_point

if TYPE_CHECKING:
    from kilnctl.logbook.entries import Survey
    from kilnctl.logbook.readers import Reader


def due(thing: str, /) -> int:
    """Show what is due for an oven or another thing, its counters, and the corrections in force.

    Parameters
    ----------
    thing:
        An oven's name, or anything that you look after ("oil tank", "workshop").
    """
    show(thing)
    return COMPLETE


def show(thing: str) -> None:
    """Print what is due for a thing, its counters, and the corrections in force."""
    from kilnctl.care.calibration import reference_words
    from kilnctl.care.due import counters, everything_due
    from kilnctl.logbook.entries import Calibration, in_force

    with opened() as reader:
        for due in everything_due(reader, RealClock().utc().timestamp(), thing):
            tell(f"{'OVERDUE' if due.overdue else 'soon':<8} {due.words}")
        for name, total, unit in counters(reader, thing):
            print(f"{name}: {total:.1f} {unit}" if unit else f"{name}: {total:.1f}".removesuffix(".0"))
        for row, found in in_force(reader, Calibration, thing):
            line = f"{say_day(row.utc_s)} {found.sensor}: as found {found.as_found_k:+.1f} K"
            tell(f"{line}, gain {found.gain:.5f}, offset {found.offset_c:+.3f} C, {reference_words(found)}")
        _trend(reader, thing)
        _surveys(reader, thing)


def _surveys(reader: "Reader", thing: str) -> None:
    """Say what the newest survey at each temperature found: hottest and coldest place, and its class."""
    from kilnctl.care.survey import orientation
    from kilnctl.logbook.entries import Survey, in_force

    newest = {round(found.at_c): (row.utc_s, found) for row, found in in_force(reader, Survey, thing)}
    for _, (utc_s, found) in sorted(newest.items()):
        hot, cold = (pick(found.readings, key=lambda reading: reading[1]) for pick in (max, min))
        hottest = f"hottest {hot[0]} {hot[1] - found.at_c:+.1f} K"
        coldest = f"coldest {cold[0]} {cold[1] - found.at_c:+.1f} K"
        stands = orientation(found.low_k, found.high_k)
        told = f"{say_day(utc_s)} survey at {say_point(found.at_c)}: {hottest}, {coldest}; {stands}"
        why = _why_ended(reader, thing, utc_s, found)
        tell(f"{told}. It no longer counts: {why}" if why else told)


def _why_ended(reader: "Reader", thing: str, utc_s: float, survey: "Survey") -> str:
    """Return why a survey no longer counts; nothing of an oven whose file has gone."""
    from kilnctl.care.survey import why_ended
    from kilnctl.config.oven import find_oven

    try:
        return why_ended(reader, find_oven(thing), utc_s, survey)
    except ConfigError:
        return ""


def _trend(reader: "Reader", thing: str) -> None:
    """Say when a sensor drifts one way: three calibrations, each found further off than the last."""
    from kilnctl.care.calibration import drifting
    from kilnctl.logbook.entries import Calibration, read

    for sensor in sorted({c.sensor for c in read(reader, Calibration, thing)}):
        errors = [c.as_found_k for c in read(reader, Calibration, thing) if c.sensor == sensor]
        if drifting(errors):
            said = ", ".join(f"{e:+.1f}" for e in errors[-3:])
            tell(f"the {sensor} sensor drifts one way: {said} K; replace it")
