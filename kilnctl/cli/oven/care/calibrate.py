"""The command that corrects a sensor of an oven by two points: care calibrate."""

import re
from typing import Literal

from kilnctl.cli.oven.care.due import show
from kilnctl.cli.oven.care.from_when import tell_from_when
from kilnctl.cli.record.open_logbook import COMPLETE, keep
from kilnctl.cli.terminal.tell import tell
from kilnctl.errors import ConfigError
from kilnctl.units import parse_difference_k, parse_point_c, say_point

OF_USE_C = (100.0, 150.0, 175.0, 205.0, 230.0, 260.0, 600.0, 750.0, 830.0, 1000.0, 1100.0)
_BOILED = re.compile(r"(.+?)\s+at\s+(.+)")


def calibrate(
    oven: str,
    sensor: Literal["process", "second", "load"],
    /,
    *,
    low: str | None = None,
    high: str | None = None,
    at: str | None = None,
    ice: str | None = None,
    boiling: str | None = None,
    used_to: str | None = None,
    reference: str,
    reference_error: str | None = None,
    left: str | None = None,
    note: str = "",
    who: str = "",
) -> int:
    """Correct a sensor by two points, by ice and boiling water, or by one point.

    A correction that is not good to 3.5 K at the hottest use is refused: here, and again by each heat.

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
    at:
        One point only: reading and reference, near the temperature of use.
    ice:
        What it read in melting crushed ice ("0.8 C").
    boiling:
        What it read in boiling water, and your height above sea level or the day's air pressure at the place
        ("98.1 C at 650 m", "98.1 C at 938 hPa"). By height alone the weather moves it by 0.9 K.
    used_to:
        The hottest it is used at ("260 C"); left out, the oven's limit.
    reference:
        What you compared with ("K sensor 3, certificate of May").
    reference_error:
        How far that may be off itself, as its certificate says ("0.8 K"); left out, 1.5 K with the place.
    left:
        What was read when it was measured again afterwards ("830.2 C is 830.0 C").
    note:
        A note to keep with it.
    who:
        Who did it.
    """
    from kilnctl.care.calibration import (
        MOST_ERROR_K,
        calibrated_error_k,
        fitted,
        insist,
        largest_error_k,
        point_error_k,
    )
    from kilnctl.config.oven import find_oven
    from kilnctl.logbook.entries import Calibration

    chosen = find_oven(oven)
    if not reference.strip():
        raise ConfigError('name what you compared with, like: --reference "K sensor 3, certificate of May"')
    points, weather_k = _points(low, high, at, ice, boiling)
    stated_k = None if reference_error is None else parse_difference_k(reference_error)
    point_k = round(point_error_k(points, stated_k, weather_k), 3)
    used_to_c = chosen.limit_c if used_to is None else parse_point_c(used_to)
    found = fitted(points)
    made = Calibration(
        oven=chosen.name,
        sensor=sensor,
        gain=found.gain,
        offset_c=found.offset_c,
        points=points,
        as_found_k=round(largest_error_k(points), 2),
        as_left_k=None if left is None else round(largest_error_k([_pair(left, "left")]), 2),
        reference=reference,
        who=who,
        note=note,
        reference_k=stated_k,
        point_k=point_k,
    )
    insist(made, used_to_c, chosen.limit_c)
    print(f"corrected = {found.gain:.5f} x reading {found.offset_c:+.3f} C")
    for at_c in (c for c in OF_USE_C if c <= used_to_c):
        error_k = calibrated_error_k(made, at_c)
        bars = "" if error_k <= MOST_ERROR_K else ": no heat may use it there"
        tell(f"  at {say_point(at_c)} {found.shift_k(at_c):+.1f} K, ± {error_k:.1f} K{bars}")
    keep(made)
    tell_from_when(chosen.name)
    show(chosen.name)
    return COMPLETE


def _points(
    low: str | None, high: str | None, at: str | None, ice: str | None, boiling: str | None
) -> tuple[tuple[tuple[float, float], ...], float]:
    """Return the pairs that were measured, and how far the weather may move boiling water, K.

    Raises ConfigError for half of a way, or two ways together.
    """
    ways = [low is not None or high is not None, at is not None, ice is not None or boiling is not None]
    if sum(ways) > 1:
        raise ConfigError("one way at a time: either --low and --high, or --at, or --ice and --boiling")
    if at is not None:
        return (_pair(at, "at"),), 0.0
    if low is not None and high is not None:
        return (_pair(low, "low"), _pair(high, "high")), 0.0
    if ice is not None and boiling is not None:
        read_c, water_c, weather_k = _boiled(boiling)
        return ((parse_point_c(ice), 0.0), (read_c, water_c)), weather_k
    raise ConfigError("give what was measured: --low and --high, --at, or --ice and --boiling")


def _boiled(text: str) -> tuple[float, float, float]:
    """Return what was read in boiling water, where it boils (degC), and how far weather may move that (K)."""
    match = _BOILED.fullmatch(text.strip())
    if match is None:
        raise ConfigError('say where it boiled: --boiling "98.1 C at 650 m" (height), or "98.1 C at 938 hPa"')
    from kilnctl.care.boiling import boils_here

    return parse_point_c(match[1]), *boils_here(match[2])


def _pair(text: str, option: str) -> tuple[float, float]:
    from kilnctl.care.calibration import PAIR

    match = PAIR.fullmatch(text.strip())
    if match is None:
        raise ConfigError(f'--{option} takes reading and reference, like: --{option} "219.5 C is 218.0 C"')
    return parse_point_c(match[1]), parse_point_c(match[2])
