"""What a heat that no model steers does meanwhile, and how long its way may still take."""

from kilnctl.control.heat_controller import HeatController
from kilnctl.heat.heat_state import Heat, HeatState
from kilnctl.profile.cursor import LEAD_K
from kilnctl.profile.segments import AnySegment, Ramp, goal_c
from kilnctl.units import say_duration

SAID_TO_S = 60.0
GROUND_K = 2.0  # lost below its goal, of an oven that came warm: a hold is quiet about less
NEAR_CEILING, CAUGHT_UP = 0.8, 0.5  # of the lead that a set-point may have
SLOWLY = "until it is at its goal: it came warm and is not learned, so its heat is turned up slowly"


def keeps_up(now: HeatState, before: bool = True) -> bool:
    """Return whether the oven follows a ramp at the rate that it should; `before` is the last answer.

    Near its ceiling the set-point waits in one tick and not in the next: there the oven does not follow, and
    does so again when it has caught up by more. A set-point that has arrived tells nothing new.
    """
    segment, cursor = now.segment, now.cursor
    process_c = None if now.scan is None else now.scan.process.value
    if not isinstance(segment, Ramp) or segment.rate_c_per_h is None or cursor.waits:
        return False
    if process_c is None or cursor.setpoint_c is None or cursor.setpoint_c >= segment.to_c:
        return before
    return cursor.setpoint_c - process_c < (NEAR_CEILING if before else CAUGHT_UP) * LEAD_K


def creep_words(heat: Heat, now: HeatState, segment: AnySegment | None) -> str:
    """Return what is done and how long it may take, as the end of "the plan waits ..."; mostly nothing."""
    controller, process = heat.station.controller, None if now.scan is None else now.scan.process.value
    goal = None if segment is None else goal_c(segment)
    creep = controller.creep if isinstance(controller, HeatController) else None
    if creep is None or process is None or goal is None or not now.live or now.waiting or keeps_up(now):
        return ""
    if creep.careful:
        return SLOWLY if goal - process > GROUND_K else ""
    span_s = creep.way_s(goal - process)
    if creep.mode == "look":
        does = "with the heat off until a pulse of it shows (not learned)"
    else:
        does = "for a pulse of heat (not learned, so a little at a time)"
    if span_s is None:
        return f"{does}; nobody knows yet how long"
    low, high = (say_duration(max(SAID_TO_S, round(s / SAID_TO_S) * SAID_TO_S)) for s in span_s)
    return f"{does}; {low} to {high} more"
