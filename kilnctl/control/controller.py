"""What duty now: the controller of one oven, called once a tick."""

from kilnctl.config.oven import Oven
from kilnctl.control.gains import Schedule
from kilnctl.control.look import ControlInput, ControlOutput
from kilnctl.control.model_path import ModelPath
from kilnctl.control.pid import MAX_DT_S, Pid
from kilnctl.model.observer import Observer
from kilnctl.model.oven import OvenModel, holding_duty

__all__ = ["ControlInput", "ControlOutput", "HeatController"]

# An unlearned oven's holding duty is a guess: less of it is fed forward, the integral finds the rest.
_GUESS_SHARE = 0.5


class HeatController:
    """Turns set-point and reading into duty. Holds the controller's memory; one per run."""

    def __init__(self, oven: Oven, model: OvenModel, learned: bool = False) -> None:
        self._oven, self._model, self._learned = oven, model, learned
        self._observer = Observer(model) if learned else None
        self._pid_path = PidPath(oven, model, learned)
        self._model_path = ModelPath(oven, model) if oven.controller == "model" else None
        self._duty = 0.0

    def step(self, look: ControlInput) -> ControlOutput:
        """Return the duty for the coming tick. Called with good readings only."""
        heat = self._duty if look.heat_was_on is None else float(look.heat_was_on)
        if self._observer is not None:
            self._observer.step(look.process_c, heat, self._oven.ambient_c, look.dt_s, look.door_open)
        if self._model_path is not None:
            duty = self._model_path.step(look, heat)
            mode = self._model_path.mode
        else:
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
