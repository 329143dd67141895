"""When the bell sounds. Nothing sounds for long unless somebody can do something about it."""

from kilnctl.dashboard import formatting
from kilnctl.dashboard.view_state import View, unanswered

STALE_S, TRIP_S, READY_S, LATE_S, WAIT_S = 5.0, 2.0, 2.0, 1.0, 30.0
ALARM_S = {"urgent": 2.0, "soon": 10.0, "later": 60.0}


def bell_every_s(v: View) -> float | None:
    """Return how many seconds lie between two bells now, None for silence."""
    calls = unanswered(v.s)
    found = [
        STALE_S if v.banner and not v.hushed else None,
        TRIP_S if v.s.trip and not v.heard and (calls or not v.s.alarms) else None,
        {"READY": READY_S, "LATE": LATE_S}.get(formatting.stage(v.s)),
        WAIT_S if v.s.waiting is not None else None,
        *(ALARM_S.get(call.priority, 10.0) for call in calls if not v.heard),
    ]
    return min((every for every in found if every is not None), default=None)


def call_of(v: View) -> str:
    """Return what has to be called out once when it begins: a stage of the quench, a step, a trip."""
    if v.s.trip:
        return "trip"
    return formatting.stage(v.s) or (f"step {v.s.segment}" if v.s.waiting is not None else "")


class Bell:
    """What has been called out, for each oven: a call begins with a sound and is repeated while it lasts."""

    def __init__(self) -> None:
        self._calls: dict[str, str] = {}
        self._rung_s = -1e9

    def new_trip(self, views: list[View]) -> bool:
        """Return whether an oven has tripped since the last look."""
        return any(call_of(v) == "trip" != self._calls.get(v.s.oven) for v in views)

    def due(self, views: list[View], now_s: float) -> bool:
        """Return whether the bell is to sound now, and remember that it did. `now_s` is unscaled."""
        calls = {v.s.oven: call_of(v) for v in views}
        begun = any(call and call != self._calls.get(oven) for oven, call in calls.items())
        self._calls = calls
        every = [s for s in map(bell_every_s, views) if s is not None]
        due = begun or (bool(every) and now_s - self._rung_s >= min(every) - 0.05)
        self._rung_s = now_s if due else self._rung_s
        return due
