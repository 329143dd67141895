"""If the heat goes off now, how high will the oven coast? Asked of the model, by running it forward.

What nobody explains fades exponentially on the way (first order, textbook).
"""

import math

from kilnctl.model.filter import DRAUGHT_S
from kilnctl.model.oven_model import OvenModel, OvenState, advance
from kilnctl.values import value

_FINE_S = 2.0
_COARSE_S = 6.0
_LONG_S = 15.0
_FINE_UNTIL_S, _COARSE_UNTIL_S = 60.0, 240.0
_HORIZON_S = 5400.0
_FALLING_S = 60.0
# Heat that nobody explains is taken to fade: cold steel warms up, a door is shut again.
_FADE_S = 240.0
# A step, how far cold air warms in it, how far unexplained heat fades.
_STEPS = tuple(
    (dt_s, math.exp(-dt_s / DRAUGHT_S), 1.0 if dt_s == _FINE_S else math.exp(-dt_s / _FADE_S))
    for dt_s in (_FINE_S, _COARSE_S, _LONG_S)
)


@value
class Outlook:
    """What a look ahead starts from.

    Model, state, room, unexplained heat (fraction of full power) and cold air at the sensor (K, negative).
    """

    model: OvenModel
    state: OvenState
    ambient_c: float
    unknown: float = 0.0
    draught_k: float = 0.0

    def peak_c(self, on_s: float, stop_c: float = 1e9) -> float:
        """Return the highest sensor temperature when full heat stays on for on_s and then goes off.

        Ends early once `stop_c` is passed.
        """
        model, state, ambient_c, unknown = self.model, self.state, self.ambient_c, self.unknown
        cold_k = self.draught_k
        if on_s > 0:
            faded = math.exp(-on_s / DRAUGHT_S)
            state = advance(model, state, 1.0, ambient_c, on_s, unknown, cold_k * (1 + faded) / 2)
            cold_k *= faded
        peak_c, time_s, falling_s = state.junction_c, 0.0, 0.0
        fine, coarse, long = _STEPS
        while time_s < _HORIZON_S and falling_s < _FALLING_S and peak_c <= stop_c:
            step = fine if time_s < _FINE_UNTIL_S else coarse if time_s < _COARSE_UNTIL_S else long
            dt_s, warmed, fading = step
            unknown *= fading
            state = advance(model, state, 0.0, ambient_c, dt_s, unknown, cold_k)
            cold_k *= warmed
            time_s += dt_s
            if state.junction_c > peak_c:
                peak_c, falling_s = state.junction_c, 0.0
            else:
                falling_s += dt_s
        return peak_c

    def longest_on_s(self, window_s: float, ceiling_c: float) -> float:
        """Return how long (0..window_s) full heat may stay on so that its coast peaks below ceiling_c."""
        if self.peak_c(window_s, ceiling_c) <= ceiling_c:
            return window_s
        if self.peak_c(0.0, ceiling_c) > ceiling_c:
            return 0.0
        low_s, high_s = 0.0, window_s
        while high_s - low_s > 0.25:
            middle_s = (low_s + high_s) / 2
            if self.peak_c(middle_s, ceiling_c) <= ceiling_c:
                low_s = middle_s
            else:
                high_s = middle_s
        return low_s
