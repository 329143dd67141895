"""The PID path: cut-off by the coast, then PI with feed-forward; what a contested model falls back to.

The model serves as a table here, not as a state: how far the oven runs on after the heat goes off, and what
duty holds a temperature. So a model that no longer fits can do less harm.
"""

from collections import deque

from kilnctl.config.oven import Oven
from kilnctl.control.control_io import ControlInput
from kilnctl.control.pid import MAX_DT_S, Pid
from kilnctl.control.pid_tuning import Schedule, tangent
from kilnctl.model.coast import Outlook
from kilnctl.model.oven_model import OvenModel, advance, at_rest, holding_duty

# An unlearned oven's holding duty is a guess: less of it is fed forward, the integral finds the rest; and its
# coast is taken longer than the model says.
_GUESS_SHARE = 0.5
_GUESS_COAST = 2.2
_APPROACH_K = 15.0
# After the cut the hold begins this close to the goal, or after a minute, once what is left of the coast is
# less than this.
_CLOSE_K = 1.0
_SLOPE_S = 30.0
_SMOOTH_S = 3.0
_FIRST_COAST_S = 60.0
_TABLE_STEP_S = 5.0


class PidPath:
    """Full heat, coast, PI hold. One per run."""

    def __init__(self, oven: Oven, model: OvenModel, learned: bool) -> None:
        self._oven, self._model, self._learned = oven, model, learned
        self._schedule = Schedule(oven, model)
        self._pid = Pid()
        self.mode = "off"
        self._past: deque[tuple[float, float]] = deque()
        self._now_s = self._slope = 0.0
        self._coasted_s = 0.0
        self._leads: list[tuple[float, float]] = []
        self._delays: dict[int, float] = {}

    def step(self, look: ControlInput) -> float:
        """Return the duty for the coming tick. Sets `mode`."""
        dt_s = min(look.dt_s, MAX_DT_S)
        self._watch(look.process_c, dt_s)
        if not look.heat_wanted or look.setpoint_c is None:
            self.mode = "off"
            return 0.0
        self._choose(look, look.setpoint_c, dt_s)
        if self.mode == "approach":
            return 1.0
        if self.mode == "coast":
            return 0.0
        return self._hold(look, look.setpoint_c, dt_s)

    def take_over(self, duty: float, look: ControlInput) -> None:
        """Go on from a duty that is flowing, without a bump."""
        if look.setpoint_c is None:
            return
        bias = self._bias(look, look.setpoint_c)
        gains = self._schedule.at(look.setpoint_c)
        self._pid.hand_over(duty, look.setpoint_c - look.process_c, gains, bias)
        self.mode = "hold"

    def _watch(self, process_c: float, dt_s: float) -> None:
        """Keep the slope over the last half minute, the same one that the table is made with."""
        before_c = process_c if not self._past else self._past[-1][1]
        smooth_c = before_c + (process_c - before_c) * min(1.0, dt_s / _SMOOTH_S)
        self._now_s += dt_s
        self._past.append((self._now_s, smooth_c))
        while self._now_s - self._past[0][0] > _SLOPE_S:
            self._past.popleft()
        span_s = self._now_s - self._past[0][0]
        self._slope = (smooth_c - self._past[0][1]) / span_s if span_s > 0 else 0.0

    def _choose(self, look: ControlInput, setpoint_c: float, dt_s: float) -> None:
        gap_k = setpoint_c - look.process_c
        if look.setpoint_rate_c_per_h is not None and look.segment_kind in ("ramp", "cool"):
            if self.mode not in ("ramp", "hold"):
                self.take_over(0.0, look)
            self.mode = "ramp"
        elif self.mode == "coast":
            self._coasted_s += dt_s
            # By the time that new heat reaches the sensor the rest of the coast is over.
            calm = self._slope * self._delay_s(setpoint_c) < _CLOSE_K
            if calm and (self._coasted_s > _FIRST_COAST_S or gap_k < _CLOSE_K):
                self.take_over(self._bias(look, setpoint_c), look)
        elif self.mode in ("off", "approach") or gap_k > 2 * _APPROACH_K:
            self._start(look, gap_k)

    def _start(self, look: ControlInput, gap_k: float) -> None:
        if gap_k < self._run_on_k(look.process_c):
            if self.mode == "approach":
                self.mode, self._coasted_s = "coast", 0.0
            else:
                self.take_over(0.0, look)
        else:
            self.mode = "approach"

    def _run_on_k(self, at_c: float) -> float:
        """Return how far the oven would rise after a cut now: the model's coast, scaled to the rise seen."""
        caution = 1.0 if self._learned else _GUESS_COAST
        return max(0.5, caution * self._lead_s(at_c) * max(self._slope, 0.0))

    def _lead_s(self, at_c: float) -> float:
        """Return coast over slope at a temperature, from a heat-up of the model at full power."""
        if not self._leads:
            self._leads = lead_table(self._model, self._oven.ambient_c, self._oven.limit_c)
        low = self._leads[0]
        for high in self._leads:
            if high[0] >= at_c:
                span = max(high[0] - low[0], 1e-6)
                return low[1] + (high[1] - low[1]) * min(max((at_c - low[0]) / span, 0.0), 1.0)
            low = high
        return low[1]

    def _hold(self, look: ControlInput, setpoint_c: float, dt_s: float) -> float:
        gains = self._schedule.at(setpoint_c)
        bias = self._bias(look, setpoint_c)
        return self._pid.step(setpoint_c, look.process_c, dt_s, gains, bias, freeze=look.door_open)

    def _bias(self, look: ControlInput, setpoint_c: float) -> float:
        """Return the feed-forward: what holds the set-point, and on a ramp what lifts the oven with it."""
        model = self._model
        held = holding_duty(model, setpoint_c, self._oven.ambient_c)
        if look.setpoint_rate_c_per_h is not None:
            ahead_s = self._delay_s(setpoint_c)
            seen_c = look.preview(ahead_s)
            if seen_c is not None:
                mass = model.element + model.face + model.load + 0.3 * model.wall
                held += mass * (seen_c - setpoint_c) / ahead_s / model.power
        share = 1.0 if self._learned else _GUESS_SHARE
        return share * min(max(held, 0.0), 0.9)

    def _delay_s(self, at_c: float) -> float:
        key = round(at_c / 100)
        if key not in self._delays:
            _, self._delays[key] = tangent(self._model, max(key * 100.0, 60.0), self._oven.ambient_c)
        return self._delays[key]


def lead_table(model: OvenModel, ambient_c: float, limit_c: float) -> list[tuple[float, float]]:
    """Return (temperature, coast over slope in s) along a heat-up of the model at full power."""
    state, table, curve = at_rest(ambient_c), [], [ambient_c]
    next_c, back = ambient_c + 20.0, round(_SLOPE_S / _TABLE_STEP_S)
    while state.junction_c < limit_c and len(curve) < 6 * 720:
        state = advance(model, state, 1.0, ambient_c, _TABLE_STEP_S)
        curve.append(state.junction_c)
        slope = (curve[-1] - curve[max(0, len(curve) - 1 - back)]) / _SLOPE_S
        if state.junction_c >= next_c and slope > 1e-3:
            peak_c = Outlook(model, state, ambient_c).peak_c(0.0)
            table.append((state.junction_c, (peak_c - state.junction_c) / slope))
            next_c = state.junction_c + max(15.0, 0.08 * state.junction_c)
    return table or [(ambient_c, 60.0)]
