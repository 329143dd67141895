"""The command that corrects a sensor of an oven by two points: care calibrate."""

import re
from typing import Literal

from kilnctl.cli.oven.care.due import show
from kilnctl.cli.record.open_logbook import COMPLETE, keep
from kilnctl.errors import ConfigError
from kilnctl.units import parse_point_c

_PAIR = re.compile(r"(.+?)\s+is\s+(.+)")


def calibrate(
    oven: str,
    sensor: Literal["process", "second", "load"],
    /,
    *,
    low: str,
    high: str,
    reference: str,
    left: str | None = None,
    note: str = "",
    who: str = "",
) -> int:
    """Correct a sensor by two points, each a reading beside what a reference instrument read there.

    Parameters
    ----------
    oven:
        The oven, by file or name.
    sensor:
        Which of its sensors.
    low:
        Lower point: reading and reference ("219.5 C is 218.0 C").
    high:
        Upper point ("834.0 C is 830.0 C").
    reference:
        What you compared with ("K sensor 3, certificate of May").
    left:
        What was read when it was measured again afterwards ("830.2 C is 830.0 C").
    note:
        A word to keep with it.
    who:
        Who did it.
    """
    from kilnctl.care.calibration import largest_error_k, two_point
    from kilnctl.config.oven import find_oven
    from kilnctl.logbook.entries import Calibration

    if not reference.strip():
        raise ConfigError('say what you compared with, like: --reference "K sensor 3, certificate of May"')
    chosen = find_oven(oven)
    points = (_pair(low, "low"), _pair(high, "high"))
    found = two_point(*points, used_to_c=chosen.limit_c)
    left_k = None if left is None else round(largest_error_k([_pair(left, "left")]), 2)
    as_found_k = round(largest_error_k(points), 2)
    print(f"corrected = {found.gain:.5f} x reading {found.offset_c:+.3f} C")
    keep(
        Calibration(
            chosen.name, sensor, found.gain, found.offset_c, points, as_found_k, left_k, reference, who, note
        )
    )
    show(chosen.name)
    return COMPLETE


def _pair(text: str, option: str) -> tuple[float, float]:
    match = _PAIR.fullmatch(text.strip())
    if match is None:
        raise ConfigError(f'--{option} takes reading and reference, like: --{option} "219.5 C is 218.0 C"')
    return parse_point_c(match[1]), parse_point_c(match[2])
