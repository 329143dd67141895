"""A heat that waits so that it is ready at an hour: only where nobody need be there when it starts."""

from datetime import datetime, timedelta

from kilnctl.cli.heat.acknowledgement import Say
from kilnctl.cli.plan.forecast_page import forecast_from_cold
from kilnctl.cli.plan.plan_timing import learned_model, parse_ready
from kilnctl.config.oven import Oven
from kilnctl.errors import RunRefused
from kilnctl.heat.job import Job


def wait_s(ready_at: str, todo: Job, oven: Oven, time_scale: float, now: datetime, say: Say) -> float:
    """Return how long a heat waits (seconds of the run) so that it is over at a wall time, at the latest.

    Raises RunRefused for a heat that somebody must start by hand, or where it is too late; UnitError for
    what is no time of day.
    """
    ready = parse_ready(ready_at, now)
    if not todo.unattended:
        raise RunRefused(
            "--ready-at starts a heat when nobody may be there: give --unattended too, or start it by hand "
            "(`kilnctl plan` with --ready-at says when)"
        )
    model = learned_model(oven)
    ends = forecast_from_cold(todo.profile, oven, model, todo.planned_s).ends
    if not ends or ends[-1].segment != len(todo.profile.segments) - 1 or ends[-1].late_s is None:
        raise RunRefused("when this heat will end cannot be predicted: start it by hand")
    begin = ready - timedelta(seconds=ends[-1].late_s / time_scale)
    if begin < now:
        raise RunRefused(
            f"to be over at {ready:%H:%M} it would have had to start at {begin:%a %H:%M}; "
            "choose a later --ready-at"
        )
    early = begin + timedelta(seconds=ends[-1].early_s / time_scale)
    say(f"the heat begins at {begin:%a %H:%M} and ends between {early:%H:%M} and {ready:%H:%M}")
    if model is None:
        say("warning: this oven has not been learned; it may be over hours later")
    return (begin - now).total_seconds() * time_scale
