"""What an instrument that regulates by itself is told, so that it does not overshoot the plan.

Such an instrument is tuned for another oven, or not at all: left alone, a common proportional band and
integral time carry a light furnace 40 K over 60 °C and 30 K over 218 °C (simulated). So its set-point lies
below the profile by twice what the oven would be above it `AHEAD_S` later at its present rate of rise: the
look-ahead that the instrument lacks. It never lies above the profile.

Many instruments keep their set-point in a memory that wears out, so it moves in steps, and is held back only
from `HOLD_K` on.

Found by trial on simulated ovens of every build with three tunings (band 10, 25, 60 K, integral 200, 400,
240 s), sensor counts of 0.1 and 1 K: worst overshoot 9 K (20 to 60 °C in a light furnace), elsewhere 5 K, and
held within 1 K below and 5 K above; without it 48 K. The set-point is written 220 to 1,100 times in most
heats, 3,700 times in the worst.
"""

from kilnctl.config.oven import Oven
from kilnctl.control.control_io import ControlInput, ControlOutput

AHEAD_S = 300.0
BACK = 2.0
SMOOTH_S = 30.0
# Held back from so much foreseen overshoot on, until it is down to so little; moved in such steps meanwhile.
HOLD_K, LET_GO_K, STEP_K = 8.0, 3.0, 4.0
PLAN_STEP_K = 0.5


class Following:
    """Stands where the controller stands, for an instrument that takes a set-point. One per run.

    The duty is what is asked, not what the element does: all of it while the set-point lies above the oven.
    """

    def __init__(self, oven: Oven) -> None:
        self._park_c = oven.output.heater.park_c or 0.0
        self._slow_c: float | None = None
        self._told_c: float | None = None
        self._held = False

    def step(self, look: ControlInput) -> ControlOutput:
        """Return the set-point to be told. Called with good readings only."""
        rise_k = self._rise_k(look)
        if not look.heat_wanted or look.setpoint_c is None:
            self._told_c, self._held = None, False
            return ControlOutput(0.0, "parked")
        later_c = look.preview(AHEAD_S)
        highest_c = look.setpoint_c if later_c is None else max(look.setpoint_c, later_c)
        told_c = self._stepped(look.setpoint_c, look.process_c + rise_k - highest_c)
        held = " (held back)" if self._held else ""
        asks = 1.0 if told_c > look.process_c else 0.0
        return ControlOutput(asks, f"set-point {told_c:.0f} °C{held}", setpoint_c=told_c)

    def _stepped(self, plan_c: float, over_k: float) -> float:
        """Return the set-point: the plan's, or held back by a foreseen overshoot; the last one where near."""
        self._held = over_k > (LET_GO_K if self._held else HOLD_K)
        wanted_c = max(self._park_c, plan_c - BACK * over_k) if self._held else plan_c
        last_c = self._told_c
        step_k = STEP_K if self._held else PLAN_STEP_K
        if last_c is None or abs(wanted_c - last_c) >= step_k or last_c > plan_c:
            self._told_c = last_c = wanted_c
        return last_c

    def _rise_k(self, look: ControlInput) -> float:
        """Return how far the oven will rise in AHEAD_S at its present rate, smoothed; 0 when it falls."""
        slow_c = look.process_c if self._slow_c is None else self._slow_c
        self._slow_c = slow_c + (look.process_c - slow_c) * min(1.0, look.dt_s / SMOOTH_S)
        return max(0.0, (look.process_c - self._slow_c) / SMOOTH_S * AHEAD_S)
