"""When to start so that a person stands there at the right moment, and when the other oven must be hot."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from kilnctl.config.oven import Oven
from kilnctl.model.oven_model import OvenModel
from kilnctl.profile.segments import Operator, Profile, Ramp
from kilnctl.treatment.segment_forecast import Span, forecast

HEATING_MARGIN = 0.10
SETTLE_S = 900.0
_AT_HEAT = {"quench": "ready to quench", "air cool": "ready to take out"}


@dataclass(frozen=True, slots=True)
class Readiness:
    """When a heat is ready, in seconds from its start: `late_s` has a tenth more for every ramp."""

    what: str
    ready_s: float
    late_s: float

    def start_at(self, ready: datetime) -> datetime:
        """Return the latest moment to start for being ready at a wall time."""
        return ready - timedelta(seconds=self.late_s)


def readiness(profile: Profile, spans: tuple[Span, ...]) -> Readiness:
    """Return when the first step that needs a person at heat is due, else when the run is over."""
    ends = [n for n, s in enumerate(profile.segments) if isinstance(s, Operator) and s.step in _AT_HEAT]
    end = ends[0] if ends else len(spans)
    ready_s = spans[end].start_s if ends else spans[-1].end_s
    pairs = list(zip(profile.segments, spans, strict=True))[:end]
    ramps_s = sum(span.duration_s for segment, span in pairs if isinstance(segment, Ramp))
    last = profile.segments[end] if ends else None
    what = _AT_HEAT[last.step] if isinstance(last, Operator) else "finished"
    return Readiness(what, ready_s, ready_s + HEATING_MARGIN * ramps_s)


def heat_up_s(oven: Oven, model: OvenModel, to_c: float) -> float:
    """Return the time at full power from the room's temperature to `to_c`."""
    ramp = Ramp.model_validate({"to": f"{to_c:.2f} C"})
    profile = Profile.model_validate({"name": "heat up", "segment": (ramp,)})
    return forecast(profile, model, None, oven.ambient_c)[0].duration_s


def preheat_lead_s(oven: Oven, model: OvenModel, to_c: float) -> float:
    """Return how long before the quench the tempering oven must start: heat-up and 15 min to settle."""
    return heat_up_s(oven, model, to_c) + SETTLE_S
