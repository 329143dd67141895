"""When the bell sounds. Nothing sounds for long unless somebody can do something about it."""

from kilnctl.dashboard import words
from kilnctl.dashboard.view import View, unanswered

STALE_S, TRIP_S, READY_S, LATE_S, WAIT_S = 5.0, 2.0, 2.0, 1.0, 30.0
ALARM_S = {"urgent": 2.0, "soon": 10.0, "later": 60.0}


def bell_every_s(v: View) -> float | None:
    """Return how many seconds lie between two bells now, None for silence."""
    calls = unanswered(v.s)
    found = [
        STALE_S if v.banner else None,
        TRIP_S if v.s.trip and not v.heard and (calls or not v.s.alarms) else None,
        {"READY": READY_S, "LATE": LATE_S}.get(words.stage(v.s)),
        WAIT_S if v.s.waiting is not None else None,
        *(ALARM_S.get(call.priority, 10.0) for call in calls if not v.heard),
    ]
    return min((every for every in found if every is not None), default=None)


def call_of(v: View) -> str:
    """Return what has to be called out once when it begins: a stage of the quench, a step, a trip."""
    if v.s.trip:
        return "trip"
    return words.stage(v.s) or (f"step {v.s.segment}" if v.s.waiting is not None else "")
