"""The steps of a heat beside what was asked of them: a table by the clock."""

from kilnctl.report.achieved import Achieved
from kilnctl.report.charts.time_axis import clock_of
from kilnctl.report.layout.document import Table
from kilnctl.report.record import Record
from kilnctl.report.time_words import spoken

HEAD = ("", "step", "planned", "began", "ended", "achieved", "counted", "above goal")
WIDTHS = (4.5, 27.0, 25.0, 8.5, 8.5, 20.0, 10.5, 8.5)


def steps(record: Record, parts: tuple[Achieved, ...]) -> Table:
    """Return the steps that were begun, planned and achieved."""
    say = clock_of(record)
    rows = tuple((*_line(p)[:3], say(p.started_s), say(p.ended_s), *_line(p)[3:]) for p in parts)
    return Table("Steps, planned and achieved", HEAD, rows, WIDTHS)


def _line(part: Achieved) -> tuple[str, ...]:
    rate = "" if part.rate_c_per_h is None else f"{part.rate_c_per_h:.0f} °C/h".replace("-", "−")
    held = "" if part.low_c is None or part.high_c is None else f"{part.low_c:.1f} to {part.high_c:.1f} °C"
    over = part.overshoot_k if part.overshoot_k is not None and part.overshoot_k > 0.0 else None
    return (
        str(part.index + 1),
        part.label,
        asked(part),
        held or rate,
        "" if part.soak_s is None else spoken(part.soak_s),
        "" if over is None else f"{over:.1f} °C",
    )


def asked(part: Achieved) -> str:
    """Return what was asked of a step in a few words."""
    goal = "no heat" if part.goal_c is None else f"{part.goal_c:.0f} °C"
    if part.kind == "operator":
        return "by hand" if part.goal_c is None else f"by hand, at {goal}"
    if part.soak_asked_s is not None:
        return f"{goal} for {spoken(part.soak_asked_s)}"
    if part.rate_asked_c_per_h is not None:
        return f"to {goal} at {part.rate_asked_c_per_h:.0f} °C/h"
    return goal if part.goal_c is None else f"to {goal}"
