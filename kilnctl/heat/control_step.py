"""What a tick asks of the control, and what it makes of the answer: held, notes, endings, nudges."""

from kilnctl.control.control_io import ControlInput, ControlOutput
from kilnctl.heat.heat_state import Heat, HeatState, noted
from kilnctl.heat.tick_clocks import TickTime
from kilnctl.profile.cursor import preview
from kilnctl.readings import Scan
from kilnctl.stages import RunState

# How far the duty is nudged to test a sensor that stands still.
DITHER = 0.05
DITHER_K = 5.0  # and an instrument's set-point, down only
NO_OUTPUT = ControlOutput(0.0, "")  # of a tick whose reading is bad: nothing is asked, nothing is found


def held_or_running(now: HeatState, door_open: bool) -> HeatState:
    """Return a live heat as held while the door is open or its time has not come, else as running."""
    state: RunState = "held" if door_open or now.waiting else "running"
    return now if now.state == state else now._replace(state=state)


def is_cut(before: RunState, now: HeatState, scan: Scan, follows: bool) -> bool:
    """Return whether all is cut in this tick, and not only the heater told to be off.

    A hand follows the door: a contactor falls at once, not when the dead-man lapses. Where that lapses while
    the door stands open it is our doing: what follows a cut begins with its arms. And what an instrument that
    `follows` a set-point puts out by itself, with it parked for a step that waits, only a contactor cuts.
    """
    opened = before == "running" and now.state == "held"
    parked = follows and now.current.kind == "operator" and now.cursor.setpoint_c is None
    return now.state == "tripped" or opened or bool(scan.contactor_on and (scan.door_open or parked))


def control_input(heat: Heat, now: HeatState, scan: Scan, time: TickTime, wanted: bool) -> ControlInput:
    """Return what the control is asked in this tick; `wanted` says whether heat may be."""
    station, request = heat.station, now.request
    cursor, profile, current = now.cursor, now.profile, now.current
    soak = current.soak
    return ControlInput(  # in the order of the fields: so many names would cost 3 microseconds in every tick
        time.at_s,
        time.dt_s,
        scan.process.value or 0.0,
        cursor.setpoint_c if wanted else None,
        current.goal_c,
        current.kind,
        wanted,
        lambda ahead_s: preview(profile, cursor, ahead_s, soak),
        scan.door_open is True,
        current.rate_c_per_h,
        request.on if station.switched else None,
        station.rated_w(scan),
        station.bears(current, cursor.segment, scan, request, time.dt_s),
    )


def heeded(heat: Heat, now: HeatState, output: ControlOutput) -> HeatState:
    """Return the heat with what the control says of it beside the duty: what it found, whether it ends."""
    if output.note and not output.note == now.oven_changed == now.oven_note:
        now = noted(heat, now, output.note)._replace(oven_changed=output.note)
    if output.ending and now.live:
        now = _enough(heat, now, output.ending)
    return now


def _enough(heat: Heat, now: HeatState, ending: str) -> HeatState:
    """The controller itself wants no more heat: a learning heat-up is done, or has given up."""
    heat.recorder.event("controller", ending)
    if ending == "complete":
        return now._replace(state="complete")
    return now._replace(state="stopped", cause=ending)


def nudged(duty: float, dither: int) -> float:
    """Return the duty with the nudge by which a sensor that stands still is tested."""
    return min(1.0, max(0.0, duty + dither * DITHER))


def lowered_c(setpoint_c: float | None) -> float | None:
    """Return the set-point that an instrument is told while a sensor that stands still is tested."""
    return None if setpoint_c is None else setpoint_c - DITHER_K
