"""The one place where simple-pid is called, with the traps of the bare library closed.

The library integrates whatever time it is given, lets one NaN poison the integral for ever, and lets
integral and proportional part together run far outside the range. Here the time step is our own and
capped, nothing that is not finite gets in, feed-forward shifts the limits so that it is never counted
twice, and proportional plus integral part stay inside the range.
"""

import math
from typing import Any

from simple_pid import PID

from kilnctl.values import value

MAX_DT_S = 5.0
_MIN_DT_S = 0.01
# The derivative acts on a measurement smoothed over this part of its time (common practice: 5 to 10).
_DERIVATIVE_FILTER = 8.0


@value
class Gains:
    """PID settings: gain in duty (0..1) per kelvin, integral and derivative time in seconds."""

    duty_per_k: float
    integral_s: float
    derivative_s: float = 0.0


class Pid:
    """A PID from temperature to duty in 0..1, in the ideal form: gain, integral time, derivative time."""

    def __init__(self) -> None:
        self._pid: Any = PID(0.0, 0.0, 0.0, sample_time=None, output_limits=(0.0, 1.0))
        self._smooth_c: float | None = None

    def step(
        self,
        setpoint_c: float,
        process_c: float,
        dt_s: float,
        gains: Gains,
        bias: float = 0.0,
        freeze: bool = False,
    ) -> float:
        """Return the duty (0..1), `bias` (feed-forward duty) included.

        `freeze` keeps the integral where it is (door open). Raises ValueError for NaN and infinity.
        """
        if not math.isfinite(setpoint_c + process_c + dt_s + bias):
            raise ValueError("the controller takes finite numbers only")
        pid, dt_s = self._pid, min(max(dt_s, _MIN_DT_S), MAX_DT_S)
        low, high = -bias, 1.0 - bias
        self._take(gains, setpoint_c - process_c, freeze)
        pid.output_limits = (min(low, 0.0), max(high, 0.0))
        pid.setpoint = setpoint_c
        duty: float = pid(self._smoothed(process_c, dt_s, gains.derivative_s), dt=dt_s)
        proportional, integral, _ = pid.components
        pid._integral = min(max(integral, min(0.0, low - proportional)), max(0.0, high - proportional))
        return min(max(duty + bias, 0.0), 1.0)

    def hand_over(self, duty: float, error_k: float, gains: Gains, bias: float = 0.0) -> None:
        """Start from a duty that is already flowing, so that the next step gives the same: no bump."""
        pid = self._pid
        pid.Kp = gains.duty_per_k
        pid.set_auto_mode(False)
        pid.output_limits = (-1.0, 1.0)
        pid.set_auto_mode(True, last_output=duty - bias - gains.duty_per_k * error_k)
        self._smooth_c = None

    @property
    def integral(self) -> float:
        """Return the integral part in duty, feed-forward not included."""
        return float(self._pid.components[1])

    def _take(self, gains: Gains, error_k: float, freeze: bool) -> None:
        pid = self._pid
        if gains.duty_per_k != pid.Kp and pid.Kp > 0:
            # A new gain would bump the duty by its change times the error.
            pid._integral += (pid.Kp - gains.duty_per_k) * error_k
        pid.Kp = gains.duty_per_k
        pid.Ki = 0.0 if freeze else gains.duty_per_k / gains.integral_s
        pid.Kd = gains.duty_per_k * gains.derivative_s

    def _smoothed(self, process_c: float, dt_s: float, derivative_s: float) -> float:
        if self._smooth_c is None or derivative_s <= 0.0:
            self._smooth_c = process_c
        else:
            self._smooth_c += (process_c - self._smooth_c) * min(
                1.0, dt_s * _DERIVATIVE_FILTER / derivative_s
            )
        return self._smooth_c
