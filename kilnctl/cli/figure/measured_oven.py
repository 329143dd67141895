"""What was measured on an oven, as limits of error: its newest calibration and its newest survey."""

from typing import TYPE_CHECKING

from kilnctl.config.home import logbook_path
from kilnctl.config.oven import find_oven
from kilnctl.units import say_point

if TYPE_CHECKING:
    from kilnctl.config.oven import Oven
    from kilnctl.logbook.readers import Reader
    from kilnctl.report.uncertainty import Component


def measured_on(oven: str, at_c: float) -> "dict[str, Component]":
    """Return the limits of error at a temperature, degC, that were measured: "sensor", "uniformity".

    Raises ConfigError for an oven that nobody knows.
    """
    file = find_oven(oven)
    if not logbook_path().is_file():
        return {}
    from kilnctl.logbook.readers import Reader

    with Reader(logbook_path()) as reader:
        return {part.name: part for part in (*_sensor(reader, file.name, at_c), *_places(reader, file))}


def _sensor(reader: "Reader", oven: str, at_c: float) -> "list[Component]":
    from kilnctl.care.calibration import calibrated_error_k, calibrations_of, reference_words
    from kilnctl.clock import say_day
    from kilnctl.report.uncertainty import Component

    return [
        Component(
            "sensor",
            calibrated_error_k(c, at_c),
            f"calibrated {say_day(row.utc_s)} with its converter; {reference_words(c)}",
        )
        for sensor, (row, c) in calibrations_of(reader, oven).items()
        if sensor == "process"
    ]


def _places(reader: "Reader", oven: "Oven") -> "list[Component]":
    from kilnctl.care.survey import why_ended
    from kilnctl.clock import say_day
    from kilnctl.logbook.entries import Survey, in_force
    from kilnctl.report.uncertainty import Component

    return [
        Component(
            "uniformity",
            max(abs(survey.low_k), abs(survey.high_k)),
            f"survey of {say_day(row.utc_s)} at {say_point(survey.at_c)}",
        )
        for row, survey in list(in_force(reader, Survey, oven.name))[-1:]
        if not why_ended(reader, oven, row.utc_s, survey)
    ]
