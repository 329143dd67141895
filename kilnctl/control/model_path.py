"""The path for a learned oven: full heat until its coast reaches the goal, then a hold that aims ahead.

Three pieces, all asked of the fitted model from the filter's state: the cut-off (how high would it coast?),
the cap on every pulse until arrival (the same question), and the hold: the constant duty that brings the
sensor to the set-point over the oven's own dead time, which on a ramp is the set-point of the profile ahead.
The first two are asked of the learned oven in open loop too (`twin`), and the more careful answer counts.
"""

import math

from kilnctl.config.oven import Oven
from kilnctl.control.coast import Outlook
from kilnctl.control.control_io import ControlInput
from kilnctl.control.door_recovery import AfterDoor
from kilnctl.control.pid_tuning import tangent
from kilnctl.control.settling import Arrival, Settling
from kilnctl.control.switching_window import Ripple, Stretch
from kilnctl.control.twin import Twins
from kilnctl.model.filter import DRAUGHT_S, OvenFilter, Trust
from kilnctl.model.oven_model import OvenModel, OvenState, advance, lost

# The coast may peak this far above the goal: sooner inside the band, and far from harming a temper.
MARGIN_K = 0.3
# This heat's scale factors: sensor and load may differ much from the day of learning, supply little.
TRUST = Trust(
    lag_sd=0.25,
    power_sd=0.04,
    load_sd=0.5,
    drift_k=0.02,
    unknown_sd=0.02,
    unknown_rate=4e-4,
    draught=True,
)
# An oven that is not learned yet: everything may differ by a factor of two, and the coast is taken longer.
_GUESS = Trust(
    lag_sd=0.7,
    power_sd=0.5,
    load_sd=0.9,
    drift_k=0.06,
    unknown_sd=0.08,
    unknown_rate=2e-3,
    draught=True,
)
_GUESS_COAST = 2.2
# A learned coast is taken longer too while this heat has not yet shown how late its sensor is (standard
# deviation of the logarithm of its lag), and a little longer after that.
_LEARNED_COAST, _SHOWN_COAST, _UNKNOWN_SD, _KNOWN_SD = 1.25, 1.08, 0.12, 0.04
# Near the goal the unknown heat moves freely: it is what keeps a hold free of offset.
_RATE_NEAR = 0.003
_NEAR_K = 10.0
# Further below the goal than this it is an approach, nearer than that a hold.
_APPROACH_K = 4.0
_ARRIVED_K = 0.7
# What nobody announced may take this much of full power away at once.
_JUMP_SD = 0.1
# A jump this soon after the door belongs to it.
_AFTER_DOOR_S = 600.0
_JUMP_SDS, _JUMP_RESIDUALS = 4.0, 1.5
# The hold aims at these quarters of its horizon; aiming at the end alone lets the sensor sag on the way.
# Twelve steps in place of four move the duty by 0.001 (median); the sensor's noise moves it by 0.03 to 0.06.
_STEPS = 4
_AIMS = (2, 3, 4)
_AIM_EVERY_S = 2.0
_REACH_EVERY_S = 20.0
# A relay with a long window answers late: the hold aims this part of the window further ahead.
_WINDOW_SHARE = 0.4
# On a ramp it aims this part of the dead time ahead, where that is longer than a minute and a half: a cold
# sensor is slow, and the whole dead time lets a ramp start 3.8 K late (heavy ovens swing at less).
_RAMP_SHARE, _RAMP_FULL_S = 0.5, 95.0
_CAP_EVERY_S = 5.0
# No coast that is foreseen grows faster than this, in K/s.
_FASTEST = 3.0
# The most that a hold asks: this share of what leaves the chamber, or flowed in the last minute if that is
# more, so much anyhow, so much per kelvin below.
_MOST_SHARE, _MOST_ANYHOW, _MOST_PER_K, _LATELY_S = 1.3, 0.05, 0.06, 60.0
# What a hold finds of its oven is looked at in steps.
_SETTLE_EVERY_S = 4.0
# An arrival ends where the reading has not risen for so many dead times: what is left is the
# hold's. After that only a gap that is several times an approach's begins another one.
_WAIT_DELAYS = 1.5
# It ends sooner where it creeps: in a dead time it would cover less than this share of what is left.
_SLOW_SHARE, _SLOW_DELAYS = 0.25, 0.5
# A hold does not begin while the reading, at the slope of the last seconds, would pass in half a dead time.
_PASS_K, _PASS_DELAYS = 0.5, 0.5


class ModelPath:
    """Approach and hold from the state of the fitted model. One per run."""

    def __init__(self, oven: Oven, model: OvenModel, learned: bool = True) -> None:
        self._oven = oven
        self._trust = TRUST if learned else _GUESS
        self._learned = learned
        self.filter = OvenFilter(model, self._trust, oven.signal.process.step_k)
        self.window_s: float | None = None
        self.mode = "off"
        self._near: bool | None = False
        self._arrived = self._ended = False
        self._known = tuple(m for m in (model, model.bound) if m is not None) if learned else ()
        self._twins: Twins | None = None
        self._goal_c: float | None = None
        self._arrival, self._slow_s = Arrival(), 0.0
        self._settling, self._holding = Settling(), False
        self._seen_s = self._gap_ks = self._lately = self._leaves = 0.0
        self._door = AfterDoor()
        self._cut_s = self._cap_s = self._aim_s = self._reach_s = -1.0
        self._cap = self._aimed = self._asked = 0.0
        self._room = (math.inf, 0.0)
        self._ripple: Ripple | None = None
        self._stretch: Stretch | None = None
        self._reaches: list[float] = []
        self._reach_step_s = 0.0
        self._horizons: dict[int, float] = {}

    def step(self, look: ControlInput, heat: float) -> float:
        """Return the duty for the coming tick; `heat` is what flowed since the last. Sets `mode`."""
        state = self.filter.step(look.process_c, heat, self._oven.ambient_c, look.dt_s)
        self._lately += (heat - self._lately) * look.dt_s / (look.dt_s + _LATELY_S)
        if self._door.see(look, self.filter):
            self._come_near(True)
            self._twins = None
        if not look.heat_wanted or look.setpoint_c is None:
            self.mode, self._twins = "off", None
            return 0.0
        gap_k = look.setpoint_c - look.process_c
        self._watch(look, gap_k)
        self._choose(look, state, gap_k)
        self._settle(look, gap_k)
        if self._twins is not None or self.mode == "approach":
            self._see_twins(look, state, heat)
        if self.mode == "approach":
            if not self._must_cut(look, state, look.setpoint_c):
                return 1.0
            self._cut(state)
        if self._oven.switching.kind == "contactor" and self.mode == "hold":
            return self._spared(look, state, heat, look.setpoint_c)
        self._ripple = self._stretch = self.window_s = None
        cap = self._capped(look, state, look.setpoint_c) if self.mode == "arrive" else 1.0
        return min(self._hold(look, state, look.setpoint_c), cap) if cap > 0.0 else 0.0

    def _spared(self, look: ControlInput, state: OvenState, heat: float, setpoint_c: float) -> float:
        """Hold with a contactor: blind to its own ripple, with a window as long as the oven bears."""
        outlook = self.outlook(state)
        if self._ripple is None or self._stretch is None:
            self._ripple, self._stretch = Ripple(state), Stretch(self._oven.switching.window_s)
        else:
            state = self._ripple.step(outlook, self._asked, heat, look.dt_s)
        self._asked = self._hold(look, state, setpoint_c)
        self._stretch.step(outlook, self._asked, heat, look.dt_s, self._settling.half_k)
        self.window_s = self._stretch.window_s
        return self._asked

    def _settle(self, look: ControlInput, gap_k: float) -> None:
        """Let a hold find out where to aim and how gently; forgotten when it ends."""
        if self.mode != "hold":
            if self._holding:
                self._settling, self._seen_s, self._gap_ks, self._holding = Settling(), 0.0, 0.0, False
            return
        self._holding = True
        self._seen_s += look.dt_s
        self._gap_ks += gap_k * look.dt_s
        if self._seen_s >= _SETTLE_EVERY_S:
            if not self._door.in_doubt:
                mean_k = self._gap_ks / self._seen_s
                before = self._settling.eased
                self._settling.see(mean_k, self._delay_s(look), self._aimed, self._seen_s)
                if self._settling.eased > before:
                    self._near = None
            self._seen_s = self._gap_ks = 0.0

    def _choose(self, look: ControlInput, state: OvenState, gap_k: float) -> None:
        arriving = self.mode == "arrive"
        if arriving:
            self._arrival.see(state.junction_c, look.dt_s)
        if _chases(look):
            self.mode = "ramp"
        elif gap_k > _APPROACH_K and gap_k > self._approach_k(arriving):
            self.mode, self._ended = "approach", False
        elif not (arriving and self._still_arriving(look, gap_k)):
            self._ended = self._ended and gap_k > _ARRIVED_K
            self.mode = "hold"

    def _approach_k(self, arriving: bool) -> float:
        """Return how far below its set-point an oven is heated on full heat: never while a coast goes on."""
        if arriving and self._twins is not None:
            return math.inf
        return 4 * _APPROACH_K if arriving or self._ended else _APPROACH_K

    def _still_arriving(self, look: ControlInput, gap_k: float) -> bool:
        """True while an arrival goes on: below the goal and rising, or about to pass it."""
        delay_s, seen = self._delay_s(look), self._arrival
        if gap_k < _ARRIVED_K:
            return seen.slope * _PASS_DELAYS * delay_s - gap_k > _PASS_K and gap_k > -_APPROACH_K
        slow = seen.slope * delay_s < _SLOW_SHARE * gap_k
        self._slow_s = self._slow_s + look.dt_s if slow else 0.0
        waited = seen.stuck_s > _WAIT_DELAYS * delay_s or self._slow_s > _SLOW_DELAYS * delay_s
        self._ended = waited and self._twins is None
        return not self._ended

    def _see_twins(self, look: ControlInput, state: OvenState, heat: float) -> None:
        """Move the twins with the oven; they begin with an approach and end with its coast."""
        if look.setpoint_c != self._goal_c:
            self._goal_c, self._twins = look.setpoint_c, None
        if self.mode == "approach":
            if self._twins is None and self._known:
                self._twins = Twins(self._known, state, self._oven.ambient_c)
            elif self._twins is not None:
                self._twins.heat(state.junction_c, look.dt_s)
        elif self.mode == "arrive" and self._twins is not None:
            self._twins.coast(state.junction_c, heat, look.dt_s)
            self._twins = None if self._twins.over else self._twins
        else:
            self._twins = None

    def _cut(self, state: OvenState) -> None:
        self.mode, self._cap_s, self._room = "arrive", -1.0, (math.inf, 0.0)
        self._arrival, self._slow_s = Arrival(), 0.0
        if self._twins is not None:
            self._twins.cut(state.junction_c)

    def _watch(self, look: ControlInput, gap_k: float) -> None:
        near = abs(gap_k) < _NEAR_K
        # A ramp is near its set-point from the start, and has yet to show what the oven is today: until the
        # goal is reached what is missing is put down to lag, power and load rather than to unknown heat.
        if near and not self._arrived and not _chases(look):
            self._arrived = True
            self.filter.freeze()
        if not self._door.in_doubt:
            self._come_near(near and self._arrived)
        calm = self._door.since_s > _AFTER_DOOR_S
        if near and calm and not self.filter.shaken and self._jumped:
            self.filter.shake(_JUMP_SD)

    @property
    def _jumped(self) -> bool:
        """True where a reading surprises by more than noise, and by more than this model ever knew."""
        seen = self.filter
        return abs(seen.jump) > _JUMP_SDS and abs(seen.off_k) > _JUMP_RESIDUALS * seen.base.residual_k

    def _come_near(self, near: bool) -> None:
        if near != self._near:
            # Where a hold swings, a slope is the oven's own and no heat that comes from nowhere.
            rate = max(_RATE_NEAR / self._settling.eased, self._trust.unknown_rate)
            self.filter.set_walk(rate if near else self._trust.unknown_rate)
            self._near = near

    def outlook(self, state: OvenState) -> Outlook:
        """Return what a look ahead starts from."""
        return Outlook(self.filter.model, state, self._oven.ambient_c, self._unknown, self._draught_k)

    @property
    def _unknown(self) -> float:
        return self._door.believed(self.filter.unknown)

    @property
    def _draught_k(self) -> float:
        return min(self.filter.draught_k, 0.0)

    def _must_cut(self, look: ControlInput, state: OvenState, goal_c: float) -> bool:
        if look.at_s < self._cut_s:
            return False
        ceiling_c = self._ceiling_c(look.process_c, goal_c)
        peak_c = self.outlook(state).peak_c(look.dt_s, ceiling_c)
        room_k = ceiling_c - peak_c
        if room_k >= 0.0 and self._twins is not None:
            room_k = min(room_k, goal_c + MARGIN_K - self._twins.peak_c(state.junction_c, look.dt_s))
        # Far away the question need not be asked in every tick: no oven here rises by 3 K in a second, and
        # none three times as fast as it did since it was asked last.
        before_s, before_k = self._room
        lost_k_per_s = (before_k - room_k) / (look.at_s - before_s) if look.at_s > before_s else _FASTEST
        fastest = min(max(3.0 * lost_k_per_s, 0.1 * _FASTEST), _FASTEST)
        self._room, self._cut_s = (look.at_s, room_k), look.at_s + min(60.0, room_k / fastest)
        return room_k < 0.0

    def _ceiling_c(self, process_c: float, goal_c: float) -> float:
        """Return the highest coast allowed: short of the goal by part of the coast, where that is a guess."""
        margin_k, caution = MARGIN_K, self._caution
        if self._door.in_doubt:
            margin_k, caution = self._door.margin_k, max(caution, self._door.caution)
        rise_k = max(goal_c + margin_k - process_c, 0.0)
        return goal_c + margin_k - rise_k * (1.0 - 1.0 / caution)

    @property
    def _caution(self) -> float:
        """Return how much longer a coast is taken than the filter foresees."""
        if not self._learned:
            return _GUESS_COAST
        known = (_UNKNOWN_SD - self.filter.learnt_sd[0]) / (_UNKNOWN_SD - _KNOWN_SD)
        return _LEARNED_COAST + (_SHOWN_COAST - _LEARNED_COAST) * min(max(known, 0.0), 1.0)

    def _capped(self, look: ControlInput, state: OvenState, goal_c: float) -> float:
        if look.at_s >= self._cap_s:
            self._cap_s = look.at_s + _CAP_EVERY_S
            window_s = self._oven.switching.window_s
            on_s = self.outlook(state).longest_on_s(window_s, self._ceiling_c(look.process_c, goal_c))
            if on_s > 0.0 and self._twins is not None:
                on_s = self._twins.longest_on_s(on_s, goal_c + MARGIN_K)
            self._cap = on_s / window_s
        return self._cap

    def _hold(self, look: ControlInput, state: OvenState, setpoint_c: float) -> float:
        if look.at_s < self._aim_s:
            return self._aimed
        self._aim_s = look.at_s + _AIM_EVERY_S
        model, ambient_c, unknown = self.filter.model, self._oven.ambient_c, self._unknown
        step_s = self._ahead_s(setpoint_c) / _STEPS
        cold, asked, given = state, 0.0, 1e-9
        faded = math.exp(-step_s / DRAUGHT_S)
        draught_k = self._draught_k * (1 + faded) / 2
        for i, reach_k in enumerate(self._reach_k(look.at_s, state, step_s), 1):
            cold = advance(model, cold, 0.0, ambient_c, step_s, unknown, draught_k)
            draught_k *= faded
            if i in _AIMS:
                asked += reach_k * (self._aim_c(look, setpoint_c, i * step_s) - cold.junction_c)
                given += reach_k * reach_k
        self._aimed = min(max(asked / given, 0.0), self._most(look, setpoint_c))
        return self._aimed

    def _most(self, look: ControlInput, setpoint_c: float) -> float:
        """Return the most that a hold may ask: some more than leaves the chamber or was lately needed.

        An oven that hides heat from its sensor falls, and comes back by itself: a forecast that knows nothing
        of it asks for four times what the oven needs.
        """
        if self.mode != "hold" or self._door.in_doubt or self.filter.shaken:
            return 1.0
        most, gap_k = (
            _MOST_SHARE * max(self._leaves, self._lately) + _MOST_ANYHOW,
            setpoint_c - look.process_c,
        )
        return min(most + _MOST_PER_K * gap_k if gap_k > 0.0 else most, 1.0)

    def _reach_k(self, at_s: float, state: OvenState, step_s: float) -> list[float]:
        """Return by how much full heat lifts the sensor at each step of a look ahead.

        Looked up anew after a while: from hold to hold it changes by half a per cent.
        """
        if at_s >= self._reach_s or step_s != self._reach_step_s:
            self._reach_s, self._reach_step_s = at_s + _REACH_EVERY_S, step_s
            model, ambient_c = self.filter.model, self._oven.ambient_c
            cold = hot = state
            self._reaches, self._leaves = [], lost(model, state, ambient_c) / model.power
            for _ in range(_STEPS):
                cold = advance(model, cold, 0.0, ambient_c, step_s)
                hot = advance(model, hot, 1.0, ambient_c, step_s)
                self._reaches.append(hot.junction_c - cold.junction_c)
        return self._reaches

    def _aim_c(self, look: ControlInput, setpoint_c: float, ahead_s: float) -> float:
        if look.setpoint_rate_c_per_h is None and look.segment_kind != "soak":
            return setpoint_c + self._settling.trim_k
        seen_c = look.preview(ahead_s)
        return (setpoint_c if seen_c is None else seen_c) + self._settling.trim_k

    def _ahead_s(self, setpoint_c: float) -> float:
        """Return how far ahead the hold aims now."""
        delay_s = self._horizon_s(setpoint_c)
        if self.mode == "ramp":
            return max(_RAMP_SHARE * delay_s, min(delay_s, _RAMP_FULL_S))
        if self.window_s is not None:
            # A contactor swings by its own pulses, which is no reason to aim further ahead.
            return delay_s + _WINDOW_SHARE * self.window_s
        return self._settling.eased * delay_s

    def _delay_s(self, look: ControlInput) -> float:
        return self._horizon_s(look.setpoint_c or look.process_c)

    def _horizon_s(self, at_c: float) -> float:
        """Return the oven's dead time at this temperature."""
        key = round(at_c / 50)
        if key not in self._horizons:
            _, delay_s = tangent(self.filter.model, max(key * 50.0, 60.0), self._oven.ambient_c)
            self._horizons[key] = min(max(delay_s, 40.0), 600.0)
        return self._horizons[key]


def _chases(look: ControlInput) -> bool:
    """True where the set-point moves at a rate."""
    return look.setpoint_rate_c_per_h is not None and look.segment_kind in ("ramp", "cool")
