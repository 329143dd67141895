"""The time axis of a chart: the clock where the heat ran by it, else the time since the start."""

from collections.abc import Callable
from datetime import UTC, datetime

from kilnctl.report.record import Record

LONG_S = 7200.0
IN_NO_TIME = float("inf")  # the time scale of a rehearsal, which runs by no clock
STEPS_S = (60.0, 300.0, 600.0, 900.0, 1800.0, 3600.0, 7200.0, 14400.0, 28800.0, 86400.0)
MOST_TICKS = 9


def since_start(at_s: float) -> str:
    """Return a time of the heat as it stands on an axis: hours and minutes."""
    minutes = round(at_s / 60.0)
    return f"{minutes // 60}:{minutes % 60:02d}"


def unit_of(long_s: float) -> tuple[float, str]:
    """Return the unit of an axis that counts from a start, in s, and its name."""
    return (3600.0, "hours") if long_s >= LONG_S else (60.0, "minutes")


def clock_of(record: Record) -> Callable[[float], str]:
    """Return what says a second of the heat: the clock, or the time since the start under a faster clock."""
    if record.header.time_scale != 1.0:
        return since_start
    started_utc = record.info.started_utc
    return lambda at_s: f"{datetime.fromtimestamp(started_utc + at_s, UTC).astimezone():%H:%M}"


def axis_words(record: Record) -> str:
    """Return the words below the axis."""
    scale = record.header.time_scale
    if scale != 1.0:
        return "hours since the start" + (f" ({scale:g} times as fast)" if scale != IN_NO_TIME else "")
    began = datetime.fromtimestamp(record.info.started_utc, UTC).astimezone()
    return f"clock time ({began:%Z}); the heat began at {began:%H:%M}"


def ticks_s(record: Record, long_s: float, most: int = MOST_TICKS) -> list[float]:
    """Return the seconds of the heat at which the axis is marked: at most `most` round times of its clock."""
    step_s = next((s for s in STEPS_S if long_s / s <= min(most, MOST_TICKS)), STEPS_S[-1])
    offset_s = 0.0
    if record.header.time_scale == 1.0:
        began = datetime.fromtimestamp(record.info.started_utc, UTC).astimezone()
        offset_s = began.hour * 3600.0 + began.minute * 60.0 + began.second + began.microsecond / 1e6
    first_s = -offset_s % step_s
    return [first_s + n * step_s for n in range(int((long_s - first_s) // step_s) + 1)]


def merged(gaps: tuple[tuple[float, float], ...], apart_s: float) -> list[tuple[float, float]]:
    """Return gaps with those put together that lie closer than this: what no eye could tell apart."""
    spans: list[tuple[float, float]] = []
    for start_s, stop_s in gaps:
        if spans and start_s - spans[-1][1] < apart_s:
            spans[-1] = (spans[-1][0], stop_s)
        else:
            spans.append((start_s, stop_s))
    return spans
