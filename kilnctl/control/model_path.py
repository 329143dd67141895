"""The path by the oven's model: which of approach, arrival, ramp and hold it is now.

Full heat until its coast reaches the goal (`approach`), then a hold that aims ahead (`hold`); what the filter
may believe of this heat's oven near and far from the goal is decided here.
"""

import math

from kilnctl.config.oven import Oven
from kilnctl.control.approach import Approach
from kilnctl.control.control_io import ControlInput
from kilnctl.control.door_recovery import AfterDoor
from kilnctl.control.foresight import LANDS_TO_C, Foresight
from kilnctl.control.holding import Holding
from kilnctl.model.filter import OvenFilter
from kilnctl.model.oven_model import OvenModel, OvenState
from kilnctl.model.trust import GUESSED, TRUST

# Near the goal the unknown heat moves freely: it is what keeps a hold free of offset. It moves fastest while
# an oven lands, for so many dead times and no longer than so many seconds: there the model is wrong by the
# second, and a hold that saw it late sagged by 4 K.
_RATE_NEAR, _RATE_LANDS, _LANDS_DELAYS, _LANDS_S = 0.003, 0.012, 4.0, 300.0
# Where it glows (`LANDS_TO_C`), radiation ends a coast by itself, and what is caught so swings (a thick tube:
# 7 K); nor does an oven land that is so unlike its file.
_UNLIKE = 1.6
_NEAR_K = 10.0
# Further below the goal than this it is an approach, nearer than that a hold; but one that has just begun
# there goes on until it has risen by so much: noise is no rise.
_APPROACH_K, _RISEN_K = 4.0, 1.0
# So many dead times before the end of a ramp, and no more kelvin, its coast counts: aimed half a dead time
# ahead, a heavy well for the sensor passed by 8.4 K.
_STRETCH_DELAYS, _STRETCH_K, _ASK_S = 1.3, 120.0, 5.0


class ModelPath:
    """Approach and hold from the state of the fitted model. One per run.

    An oven that is not learned is only watched (`see`): its nameplate is no model to steer by.
    """

    def __init__(self, oven: Oven, model: OvenModel, learned: bool = True) -> None:
        self._ambient_c, self._spares = oven.ambient_c, oven.switching.kind == "contactor"
        self._trust = TRUST if learned else GUESSED
        self.filter = OvenFilter(model, self._trust, oven.signal.process.step_k)
        self.mode = "off"
        # Near the goal, landing, and how freely heat walks after a door; None: to be said anew.
        self._near: tuple[bool, bool, float] | None = False, False, 0.0
        self._arrived, self._near_s, self._lands, self._once_more = False, 0.0, False, False
        self._landed_c: float | None = None
        self._asked_s, self._ending, self._deepest_k = -1.0, False, 0.0
        self._door = AfterDoor(oven.signal.door_open is None, oven.ambient_c)
        self.foresight = Foresight(oven, self.filter, self._door)
        self._approach = Approach(oven, model, self.foresight)
        self._holding = Holding(oven, self.foresight)

    @property
    def window_s(self) -> float | None:
        """Return the switching window that the oven bears now, None for the oven file's own."""
        return self._holding.window_s

    @property
    def lately(self) -> float:
        """Return the heat (0..1) that flowed in the last minute."""
        return self._holding.lately

    def step(self, look: ControlInput, heat: float) -> float:
        """Return the duty for the coming tick; `heat` is what flowed since the last. Sets `mode`."""
        state = self.see(look, heat)
        if not look.heat_wanted or look.setpoint_c is None:
            self.mode = "off"
            self._approach.forget()
            return 0.0
        setpoint_c, gap_k = look.setpoint_c, look.setpoint_c - look.process_c
        self._choose(look, state, heat, gap_k)
        if self._holding.settle(look, gap_k, self.mode == "hold", self._lands):
            self._near = None
        if self.mode == "approach" and self._approach.watches(look, state):
            return 0.0
        if self._approach.coasting or self.mode == "approach":
            self._approach.follow(self.mode, look, state, heat)
        if self.mode == "approach":
            if not self._approach.must_cut(look, state, setpoint_c):
                return 1.0
            self.mode = "arrive"
            self._approach.cut(state)
        if self._spares and self.mode == "hold":
            duty = self._holding.spared(look, state, heat, setpoint_c)
            return self._holding.at_most(self._approach.most(look, state, setpoint_c), duty)
        capped, goal_c = self.mode == "arrive" or (self.mode == "hold" and self._door.in_doubt), setpoint_c
        if self.mode == "ramp" and look.goal_c is not None:
            if look.at_s >= self._asked_s:
                self._asked_s, self._ending = look.at_s + _ASK_S, self._ends_soon(look, look.goal_c)
            capped, goal_c = self._ending, look.goal_c
        cap = self._approach.cap(look, state, goal_c, self.mode != "arrive") if capped else 1.0
        duty = self._holding.evenly(self.mode, look, state, setpoint_c) if cap > 0.0 else 0.0
        if self.mode == "hold":
            duty = self._holding.at_most(self._approach.most(look, state, setpoint_c), duty)
        return duty if duty < cap else cap

    def see(self, look: ControlInput, heat: float) -> OvenState:
        """Take a tick's reading and the heat that flowed before it; return the oven's state now."""
        state = self.filter.step(look.process_c, heat, self._ambient_c, look.dt_s)
        self._holding.flowed(heat, look.dt_s)
        if self._door.see(look, self.filter):
            self._come_near(True)
            self._approach.forget()
            self._landed_c, self._once_more = None, True
        if look.heat_wanted and look.setpoint_c is not None:
            self._watch(look, look.setpoint_c - look.process_c)
        return state

    def _choose(self, look: ControlInput, state: OvenState, heat: float, gap_k: float) -> None:
        arriving = self.mode == "arrive"
        if arriving:
            self._approach.see(look, state, heat)
        if _chases(look):
            self.mode = "ramp"
        elif gap_k > _APPROACH_K and gap_k > self._approach_k(look, arriving):
            self._deepest_k = max(self._deepest_k, gap_k) if self.mode == "approach" else gap_k
            self.mode, self._landed_c = "approach", None
        elif self.mode == "approach" and gap_k > self._deepest_k - _RISEN_K:
            pass
        elif self.mode == "approach":
            # Nearer than an approach begins, full heat still coasts: no hold straight from it.
            self.mode = "arrive"
            self._approach.cut(state)
        elif not (arriving and self._approach.goes_on(look, gap_k)):
            self._landed_c = look.setpoint_c if self.mode in ("approach", "arrive") else self._landed_c
            self.mode = "hold"

    def _ends_soon(self, look: ControlInput, goal_c: float) -> bool:
        """True in the last stretch of a ramp that a soak follows: what is given now arrives after its end."""
        rate_k_per_s = (look.setpoint_rate_c_per_h or 0.0) / 3600.0
        way_k = goal_c - look.process_c
        if look.segment_kind != "ramp" or way_k > _STRETCH_K:
            return False
        delay_s = self.foresight.delay_at_s(goal_c)
        ahead_c = look.preview(delay_s)
        return way_k < _STRETCH_DELAYS * delay_s * rate_k_per_s and ahead_c is not None and ahead_c <= goal_c

    def _approach_k(self, look: ControlInput, arriving: bool) -> float:
        """Return how far below its set-point an oven is heated on full heat: never while a coast goes on.

        Where an arrival has ended, a hold that sags brings the reading back by itself: full heat, cut by the
        forecast that had let it sag, made it swing for ever. After a door it may be, once.
        """
        if arriving and self._approach.coasting:
            return math.inf
        if arriving and self._once_more and self._falls_short(look):
            self._once_more = False
            return _APPROACH_K
        if arriving or self._landed_c == look.setpoint_c:
            return 4 * _APPROACH_K
        return _APPROACH_K

    def _falls_short(self, look: ControlInput) -> bool:
        """True where the air of a door has gone, and what was foreseen in it will not come.

        An embedded element was cut for a coast that ended 9 K short, and crept on for three minutes.
        """
        door, state = self._door, self.filter.state
        assert state is not None
        assert look.setpoint_c is not None
        most_c = look.setpoint_c - _APPROACH_K
        if door.airs or not door.in_doubt or look.process_c > most_c:
            return False
        return self.foresight.outlook(state).peak_c(0.0, most_c) < most_c

    def _watch(self, look: ControlInput, gap_k: float) -> None:
        near = abs(gap_k) < _NEAR_K
        # A ramp is near its set-point from the start, and has yet to show what the oven is today: until the
        # goal is reached what is missing is put down to lag, power and load rather than to unknown heat.
        if near and not self._arrived and not _chases(look):
            self._arrived = True
            self.filter.freeze()
        if not self._door.in_doubt:
            near = near and self._arrived
            self._near_s = self._near_s + look.dt_s if near else 0.0
            lands_s = min(_LANDS_DELAYS * self.foresight.delay_s(look), _LANDS_S)
            self._come_near(near, near and self._near_s < lands_s and self._may_land(look))

    def _may_land(self, look: ControlInput) -> bool:
        """Return False where it glows, and for an oven so unlike its file that it may be another one's.

        What it lacks or has too much would be put down to heat from nowhere, and nobody would be told.
        """
        lag, power, _load = self.filter.scale()
        alike = 1.0 / _UNLIKE < lag < _UNLIKE and 1.0 / _UNLIKE < power < _UNLIKE
        return alike and look.setpoint_c is not None and look.setpoint_c <= LANDS_TO_C

    def _come_near(self, near: bool, lands: bool = False) -> None:
        self._lands = lands
        now = near, lands, self._door.walks
        if now != self._near:
            # Where a hold swings, a slope is the oven's own and no heat that comes from nowhere.
            rate = (_RATE_LANDS if lands else _RATE_NEAR) / self._holding.eased
            rate = max(rate, self._trust.unknown_rate, self._door.walks)
            self.filter.set_unknown_rate(rate if near else self._trust.unknown_rate)
            self._near = now


def _chases(look: ControlInput) -> bool:
    """True where the set-point moves at a rate."""
    return look.setpoint_rate_c_per_h is not None and look.segment_kind in ("ramp", "cool")
