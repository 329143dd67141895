"""What duty now: the controller of one oven, called once a tick."""

from collections.abc import Callable
from dataclasses import dataclass

from kilnctl.config.oven import Oven
from kilnctl.control.gains import Schedule
from kilnctl.control.pid import MAX_DT_S, Pid
from kilnctl.model.observer import Observer
from kilnctl.model.oven import OvenModel, holding_duty

# An unlearned oven's holding duty is a guess: less of it is fed forward, the integral finds the rest.
_GUESS_SHARE = 0.5


@dataclass(frozen=True, slots=True)
class ControlInput:
    """All that the controller may know in a tick. Temperatures in degC, times in seconds.

    `goal_c` is where the segment ends; `preview(ahead_s)` the set-point that far ahead, None where the heat
    will be off; `setpoint_rate_c_per_h` None where the segment has no rate; `heat_was_on` the relay since the
    last tick (None: the duty asked last counts).
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


@dataclass(frozen=True, slots=True)
class ControlOutput:
    """What the controller wants. `duty` 0..1; `mode` and `note` are words for screens.

    `unexplained` is heat that the learned model cannot explain, a fraction of full power (see Observation).
    """

    duty: float
    mode: str
    unexplained: float | None = None
    unexplained_sd: float | None = None
    note: str = ""


class HeatController:
    """Turns set-point and reading into duty. Holds the controller's memory; one per run."""

    def __init__(self, oven: Oven, model: OvenModel, learned: bool = False) -> None:
        self._oven, self._model, self._learned = oven, model, learned
        self._observer = Observer(model) if learned else None
        self._pid_path = PidPath(oven, model, learned)
        self._duty = 0.0

    def step(self, look: ControlInput) -> ControlOutput:
        """Return the duty for the coming tick. Called with good readings only."""
        heat = self._duty if look.heat_was_on is None else float(look.heat_was_on)
        if self._observer is not None:
            self._observer.step(look.process_c, heat, self._oven.ambient_c, look.dt_s, look.door_open)
        duty, mode = self._pid_path.step(look)
        self._duty = duty
        seen = self._observer
        if seen is None:
            return ControlOutput(duty, mode)
        return ControlOutput(duty, mode, seen.unexplained, seen.unexplained_sd)


class PidPath:
    """PID with feed-forward alone: the path for an oven that is not learned, or whose model is contested.

    The set-point it works on closes in on the goal no faster than the oven's own lag allows, so that the
    element has given its heat away before the goal is reached.
    """

    def __init__(self, oven: Oven, model: OvenModel, learned: bool) -> None:
        self._oven, self._model = oven, model
        self._share = 1.0 if learned else _GUESS_SHARE
        self._schedule = Schedule(oven, model)
        self._pid = Pid()
        self._shaped_c: float | None = None
        self._running = False

    def step(self, look: ControlInput) -> tuple[float, str]:
        """Return duty and mode."""
        if not look.heat_wanted or look.setpoint_c is None:
            self._running = False
            return 0.0, "off"
        gains = self._schedule.at(look.setpoint_c)
        if not self._running or self._shaped_c is None:
            self._shaped_c = look.process_c
            self._pid.hand_over(0.0, 0.0, gains, 0.0)
            self._running = True
        dt_s = min(look.dt_s, MAX_DT_S)
        setpoint_c = self._shape(look.setpoint_c, look.process_c, gains.integral_s, dt_s)
        bias = self._bias(setpoint_c)
        duty = self._pid.step(setpoint_c, look.process_c, dt_s, gains, bias, freeze=look.door_open)
        approaching = abs(look.setpoint_c - setpoint_c) > 1.0
        return duty, "approach" if approaching else "hold"

    def _shape(self, wanted_c: float, process_c: float, integral_s: float, dt_s: float) -> float:
        """Return the set-point to work on: at most a band ahead of the oven, slowing down near the goal."""
        assert self._shaped_c is not None
        closing = 1.0 - pow(2.718281828, -dt_s / max(integral_s / 4.0, 1.0))
        nearer_c = self._shaped_c + (wanted_c - self._shaped_c) * closing
        ahead_k = 2.0 + 0.05 * abs(wanted_c - process_c)
        self._shaped_c = min(max(nearer_c, process_c - ahead_k), process_c + ahead_k)
        if abs(wanted_c - self._shaped_c) < 0.05:
            self._shaped_c = wanted_c
        return self._shaped_c

    def _bias(self, setpoint_c: float) -> float:
        held = holding_duty(self._model, setpoint_c, self._oven.ambient_c)
        return self._share * min(max(held, 0.0), 0.9)
