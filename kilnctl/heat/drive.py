"""What a tick makes of the answer of the control: held or running, notes, endings, nudges."""

from kilnctl.control.control_io import ControlOutput
from kilnctl.heat.heat_state import Heat, HeatState, noted
from kilnctl.stages import RunState

# How far the duty is nudged to test a sensor that stands still.
DITHER = 0.05
DITHER_K = 5.0  # and an instrument's set-point, down only
NO_OUTPUT = ControlOutput(0.0, "")  # of a tick whose reading is bad: nothing is asked, nothing is found


def held_or_running(now: HeatState, door_open: bool) -> HeatState:
    """Return a live heat as held while the door is open or its time has not come, else as running."""
    state: RunState = "held" if door_open or now.waiting else "running"
    return now if now.state == state else now._replace(state=state)


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
