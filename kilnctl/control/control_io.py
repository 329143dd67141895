"""What the controller sees and what it answers, once a tick."""

from collections.abc import Callable

from kilnctl.values import value


@value
class ControlInput:
    """All that the controller may know in a tick. Temperatures in degC, times in seconds.

    `goal_c` is where the segment ends; `preview(ahead_s)` the set-point that far ahead, None where the heat
    will be off; `setpoint_rate_c_per_h` None where the segment has no rate; `heat_was_on` the relay since the
    last tick (None: the duty asked last counts); `heater_w` what the element draws at the file's supply, as
    measured (None where nothing measures it, or nothing flows); `most_duty` is what a part in sight of the
    elements bears now.
    """

    at_s: float
    dt_s: float
    process_c: float
    setpoint_c: float | None
    goal_c: float | None
    segment_kind: str
    heat_wanted: bool
    preview: Callable[[float], float | None]
    door_open: bool = False
    setpoint_rate_c_per_h: float | None = None
    heat_was_on: bool | None = None
    heater_w: float | None = None
    most_duty: float = 1.0


@value
class ControlOutput:
    """What the controller wants. `duty` 0..1; `mode` and `note` are words for screens.

    `window_s` is the switching window that the oven bears now, None for the oven file's own.
    `ending` is "complete" or a reason when this controller wants no more heat in this run.
    `soft_s` is how long the heater takes to full power each time it is switched on.
    `setpoint_c` is what an instrument that regulates by itself is told (degC), None for every other heater.
    `unexplained` is heat that the learned model cannot explain, a fraction of full power (see Observation).
    """

    duty: float
    mode: str
    unexplained: float | None = None
    note: str = ""
    window_s: float | None = None
    ending: str = ""
    setpoint_c: float | None = None
    soft_s: float = 0.0
