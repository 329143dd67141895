"""The steps of a heat beside what was asked of them: a table by the clock."""

from kilnctl.profile.segments import Soak
from kilnctl.report.achieved import Achieved, counted_s
from kilnctl.report.charts.time_axis import clock_of
from kilnctl.report.layout.document import Table
from kilnctl.report.record import Record
from kilnctl.report.time_words import spoken

HEAD = ("", "step", "planned", "began", "ended", "achieved", "counted", "above goal")
WIDTHS = (4.5, 27.0, 25.0, 8.5, 8.5, 20.0, 10.5, 8.5)


INTO = {"plates": "between plates", "still air": "in still air"}


def steps(record: Record, parts: tuple[Achieved, ...]) -> Table:
    """Return the steps that were begun, planned and achieved."""
    say, period_s = clock_of(record), record.header.period_s
    lines = [(p, _line(p, counted_s(p, period_s), _band_k(record, p))) for p in parts]
    rows = tuple((*line[:3], say(p.started_s), say(p.ended_s), *line[3:]) for p, line in lines)
    return Table("Steps, planned and achieved", HEAD, rows, WIDTHS)


def _band_k(record: Record, was: Achieved) -> float | None:
    """Return how far from its goal a soak's time still counted."""
    segment = None if record.profile is None else record.profile.segments[was.index]
    return segment.band_k if isinstance(segment, Soak) else None


def _line(was: Achieved, credited_s: float | None, band_k: float | None) -> tuple[str, ...]:
    rate = "" if was.rate_c_per_h is None else f"{was.rate_c_per_h:.0f} °C/h".replace("-", "−")
    held = "" if was.low_c is None or was.high_c is None else f"{was.low_c:.1f} to {was.high_c:.1f} °C"
    over = was.overshoot_k if was.overshoot_k is not None and was.overshoot_k > 0.0 else None
    return (
        str(was.index + 1),
        was.label,
        asked(was) + ("" if band_k is None else f", counted within ± {band_k:g} °C"),
        held or rate,
        "" if credited_s is None else spoken(credited_s),
        "" if over is None else f"{over:.1f} °C",
    )


def asked(segment: Achieved) -> str:
    """Return what was asked of a step in a few words."""
    goal = "no heat" if segment.goal_c is None else f"{segment.goal_c:.0f} °C"
    if segment.kind == "operator":
        if segment.medium:
            return INTO.get(segment.medium, f"into {segment.medium}")
        return "by hand" if segment.goal_c is None else f"by hand, oven {goal}"
    if segment.soak_asked_s is not None:
        return f"{goal} for {spoken(segment.soak_asked_s)}"
    if segment.rate_asked_c_per_h is not None:
        return f"to {goal} at {segment.rate_asked_c_per_h:.0f} °C/h"
    return goal if segment.goal_c is None else f"to {goal}"
