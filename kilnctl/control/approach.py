"""Full heat until its coast reaches the goal, and the cap on every pulse until the oven has arrived.

Both ask one question of the fitted model: if the heat goes off now, how high will it coast? It is asked from
the filter's state, and of the learned oven in open loop too (`twin`); the more careful answer counts.
"""

import math

from kilnctl.config.oven import Oven
from kilnctl.control.control_io import ControlInput
from kilnctl.control.foresight import Foresight
from kilnctl.control.pid_tuning import tangent
from kilnctl.control.second_pulse import SecondPulse
from kilnctl.control.settling import Arrival
from kilnctl.control.stored_heat import StoredHeat
from kilnctl.control.twin import LATE, Twins
from kilnctl.model.oven_model import OvenModel, OvenState, lost
from kilnctl.model.seen_coasts import Climb, coast_s

# The coast may peak this far above the goal: sooner inside the band, and far from harming a temper.
MARGIN_K = 0.3
# A coast is taken so much longer than the filter foresees while this heat has not yet shown how late its
# sensor is (standard deviation of the logarithm of its lag), and a little longer after that.
_LEARNED_COAST, _SHOWN_COAST, _UNKNOWN_SD, _KNOWN_SD = 1.25, 1.08, 0.12, 0.04
# So far from usual the logarithm of a sound sensor's lag may lie; twice as far from it a change is believed.
_BY_CHANCE, _SURER = 0.12, 2.0
# So late, as a share of LATE, the first rise of a sound oven may come.
_BEGAN_BY_CHANCE = 0.35
_CAP_EVERY_S = 5.0
# No coast that is foreseen grows faster than this, in K/s; and it is asked anew after so long. After a door
# a forecast is of cold air at first, and jumps by tens of kelvin once that has gone.
_FASTEST = 3.0
# Nor slower than so many times what full heat lifts this oven by: where it comes back into a reading that
# still falls, the forecast stands for half a minute first, and the cut came 13 s late (16 K over).
_QUICKER = 2.0
_WAIT_S, _DOUBTED_WAIT_S = 60.0, 3.0
# Nearer than this to the goal an oven has arrived.
LANDED_K = 0.7
# An arrival ends where the reading has not risen for so many dead times: what is left is the hold's.
_WAIT_DELAYS = 1.5
# It ends sooner where it creeps: in a dead time it would cover less than this share of what is left.
_SLOW_SHARE, _SLOW_DELAYS = 0.25, 0.5
# Or where it has stood for so long and falls: a warm retort waited for eight minutes more, and sagged by 6 K.
_FALLS_S = 40.0
# A hold does not begin while the reading, at the slope of the last seconds, would pass in half a dead time;
# nor does an arrival go on this far above the goal.
_PASS_K, _PASS_DELAYS, _ABOVE_K = 0.5, 0.5, 4.0
# A model that is surprised by so much, and has found heat that it did not foresee, knows less of the coast
# that full heat comes back into than the first pulse; any other knows better (surprise 6 and less, or heat
# that was missing: half the time to the goal).
_ASTONISHED = 10.0
_LEAST_LEFT = 0.1
# Heat that lifts a coming peak by no more is not forbidden by it, nor up to so far above the goal.
_NO_HIGHER_K, _NO_FURTHER_K = 0.05, 1.0
# Once a door's air has gone a hold is capped so far above its goal: from nearer, noise in the forecast takes
# heat away and never gives any, and a light oven stood 2 to 3 K low for three minutes.
_HELD_K = 1.5
# An oven whose masses lie within this has one temperature.
_REST_K = 15.0


class Approach:
    """The cut and the coast after it. One per run."""

    def __init__(self, oven: Oven, model: OvenModel, foresight: Foresight) -> None:
        self._oven, self._foresight = oven, foresight
        self._known = tuple(m for m in (model, model.bound) if m is not None)
        self._twins: Twins | None = None
        self._goal_c: float | None = None
        self._arrival, self._slow_s = Arrival(), 0.0
        self._cut_s = self._cap_s = -1.0
        self._cap = 0.0
        self._room = (math.inf, 0.0, 0.0)
        self._climb, self._stored = Climb(), StoredHeat(model.coasts)
        self._pulses: SecondPulse | None = None
        self._gives_at_c, self._gives_k = math.nan, 0.0

    @property
    def coasting(self) -> bool:
        """True while the twins of this approach still say where it will end."""
        return self._twins is not None

    def forget(self) -> None:
        """Drop the twins: a door, or no heat."""
        self._twins = self._pulses = None

    def watches(self, look: ControlInput, state: OvenState) -> bool:
        """Return whether no heat is given yet: what a warm oven still holds has to be seen first."""
        filter_ = self._foresight.filter
        if filter_.cold or filter_.flowed_s > 0.0 or self._foresight.door.in_doubt:
            self._stored.none()
        if self._stored.over:
            return False
        foreseen_k = self._foresight.outlook(state).peak_c(0.0) - state.junction_c
        return self._stored.watches(look.process_c, foreseen_k, look.dt_s)

    def follow(self, mode: str, look: ControlInput, state: OvenState, heat: float) -> None:
        """Move the twins with the oven; they begin with an approach and end with its coast."""
        self._stored.passes(look.process_c, look.dt_s)
        if look.setpoint_c != self._goal_c:
            self._goal_c, self._twins, self._pulses = look.setpoint_c, None, None
        if mode == "approach":
            self._pulsed(look, state, heat)
            self._climb.see(look.process_c, look.dt_s)
            if self._twins is None:
                self._begin(look, state)
            else:
                self._twins.heat(state.junction_c, look.dt_s)
        elif mode == "arrive" and self._twins is not None:
            self._twins.coast(state.junction_c, heat, look.dt_s)
            self._twins = None if self._twins.over else self._twins
        else:
            self._twins = None

    def _begin(self, look: ControlInput, state: OvenState) -> None:
        """Begin with full heat: from rest, or back into a coast.

        After a door none begins: it knows nothing of what a charge drinks, and cut the heat far too soon.
        """
        if self._foresight.door.charged:
            return
        rests = _at_rest(state)
        # Another explanation holds its heat elsewhere: it can only begin where there is none.
        known = self._known if rests else self._known[:1]
        self._twins, self._climb = Twins(known, state, self._oven.ambient_c), Climb()
        if rests:
            self._pulses = SecondPulse(look.process_c)
        elif self._pulses is not None and self._foresight.unknown > 0.0 and self._astonished:
            rises_k = max(self._arrival.slope, 0.0) * coast_s(self._known[0].coasts, look.process_c)
            self._pulses.again(look.process_c, rises_k)

    @property
    def _astonished(self) -> bool:
        return self._foresight.filter.surprise > _ASTONISHED

    def _pulsed(self, look: ControlInput, state: OvenState, heat: float) -> None:
        pulses = self._pulses
        if pulses is None:
            return
        pulses.heat(heat, look.dt_s)
        if not pulses.first:
            leaves = self._leaves(state)
            # What full heat gave was what was left of it, too.
            lifts = (heat - leaves) / max(1.0 - leaves, _LEAST_LEFT)
            pulses.hide(lifts, coast_s(self._known[0].coasts, look.process_c), look.dt_s)

    def must_cut(self, look: ControlInput, state: OvenState, goal_c: float) -> bool:
        """Return whether the heat has to go off now."""
        if look.at_s < self._cut_s:
            return False
        goal_c -= self._stored.to_come_k
        ceiling_c = self._ceiling_c(look.process_c, goal_c)
        peak_c = self._foresight.outlook(state).peak_c(look.dt_s, ceiling_c)
        room_k = ceiling_c - peak_c
        if room_k >= 0.0 and self._twins is not None:
            told = self._late_share, self._doubt, self._seen_k
            peak_c = self._twins.peak_c(state.junction_c, look.dt_s, *told)
            room_k = min(room_k, goal_c + MARGIN_K - peak_c)
        if room_k >= 0.0 and self._pulses is not None:
            room_k = min(room_k, self._pulses.room_k(look.process_c, goal_c + MARGIN_K))
        # Far away the question need not be asked in every tick: no oven here rises by 3 K in a second, and
        # none three times as fast as it did since it was asked last.
        # A forecast that has jumped up or down says nothing of its pace, the reading does.
        before_s, before_k, before_c = self._room
        lost_k = max(before_k - room_k, look.process_c - before_c)
        lost_k_per_s = lost_k / (look.at_s - before_s) if look.at_s > before_s else _FASTEST
        fastest = min(max(3.0 * lost_k_per_s, 0.1 * _FASTEST, _QUICKER * self._gives(goal_c)), _FASTEST)
        longest_s = _DOUBTED_WAIT_S if self._foresight.door.in_doubt else _WAIT_S
        self._room = look.at_s, room_k, look.process_c
        self._cut_s = look.at_s + min(longest_s, room_k / fastest)
        return room_k < 0.0

    def _gives(self, goal_c: float) -> float:
        """Return what a second of full heat gives at a goal by the learned oven, in K."""
        if goal_c != self._gives_at_c:
            self._gives_at_c = goal_c
            self._gives_k, _ = tangent(self._known[0], goal_c, self._oven.ambient_c)
        return self._gives_k

    def cut(self, state: OvenState) -> None:
        """Take note that the heat goes off."""
        self._cap_s, self._room = -1.0, (math.inf, 0.0, 0.0)
        self._arrival, self._slow_s = Arrival(), 0.0
        if self._twins is not None:
            self._twins.cut(state.junction_c, self._late_share, self._doubt, self._seen_k)

    def cap(self, look: ControlInput, state: OvenState, goal_c: float, holds: bool = False) -> float:
        """Return the highest duty (0..1) whose coast does not pass the goal.

        A hold is capped after a door only: it waits for no coast, so its own pulse needs no margin.
        """
        if look.at_s >= self._cap_s:
            self._cap_s = look.at_s + _CAP_EVERY_S
            window_s, goal_c = self._oven.switching.window_s, goal_c - self._stored.to_come_k
            ceiling_c = goal_c + MARGIN_K if holds else self._ceiling_c(look.process_c, goal_c)
            outlook = self._foresight.outlook(state)
            if self._foresight.door.in_doubt:
                ceiling_c = goal_c + _HELD_K if holds and not self._foresight.door.airs else ceiling_c
                ceiling_c = max(ceiling_c, min(outlook.peak_c(0.0) + _NO_HIGHER_K, goal_c + _NO_FURTHER_K))
            on_s = outlook.longest_on_s(window_s, ceiling_c)
            if on_s > 0.0 and self._twins is not None:
                on_s = self._twins.longest_on_s(on_s, goal_c + MARGIN_K)
            if on_s > 0.0 and self._pulses is not None:
                on_s = min(on_s, self._pulses.longest_on_s(look.process_c, goal_c + MARGIN_K))
            self._cap = on_s / window_s
        return self._cap

    def most(self, look: ControlInput, state: OvenState, goal_c: float) -> float:
        """Return the most that a hold may ask that an astonished model's approach left short.

        Until it has been at its goal, or stands still below it: what leaves the chamber is the model's word.
        """
        pulses = self._pulses
        if pulses is None or pulses.first:
            return 1.0
        pulses.sees(look.process_c, look.dt_s)
        waited = pulses.still_s > _WAIT_DELAYS * self._foresight.delay_s(look)
        if waited or look.process_c >= goal_c or goal_c != self._goal_c:
            self._pulses = None
            return 1.0
        coast = coast_s(self._known[0].coasts, look.process_c)
        return max(self._leaves(state), 0.0) + pulses.most_lift(look.process_c, coast, goal_c)

    def _leaves(self, state: OvenState) -> float:
        """Return the heat that leaves the chamber by the learned oven, in fractions of full power."""
        model = self._known[0]
        return lost(model, state, self._oven.ambient_c) / model.power

    def see(self, look: ControlInput, state: OvenState, heat: float) -> None:
        """Take a tick of an arrival, with the heat (0..1) that flowed in it."""
        self._arrival.see(state.junction_c, look.dt_s)
        self._pulsed(look, state, heat)

    def goes_on(self, look: ControlInput, gap_k: float) -> bool:
        """True while an arrival goes on: below the goal and rising, or about to pass it."""
        delay_s, seen = self._foresight.delay_s(look), self._arrival
        if gap_k < LANDED_K:
            return seen.slope * _PASS_DELAYS * delay_s - gap_k > _PASS_K and gap_k > -_ABOVE_K
        if seen.stuck_s > _FALLS_S and seen.slope < 0.0:
            return False
        slow = seen.slope * delay_s < _SLOW_SHARE * gap_k
        self._slow_s = self._slow_s + look.dt_s if slow else 0.0
        waited = seen.stuck_s > _WAIT_DELAYS * delay_s or self._slow_s > _SLOW_DELAYS * delay_s
        return not (waited and self._twins is None)

    def _ceiling_c(self, process_c: float, goal_c: float) -> float:
        """Return the highest coast allowed: short of the goal by part of the coast, where that is a guess."""
        margin_k, caution, door = MARGIN_K, self._caution, self._foresight.door
        if door.in_doubt:
            margin_k, caution = door.margin_k, max(caution, door.caution)
        rise_k = max(goal_c + margin_k - process_c, 0.0)
        return goal_c + margin_k - rise_k * (1.0 - 1.0 / caution)

    @property
    def _seen_k(self) -> float:
        """Return how far this oven would coast now by what the pauses of its learning have shown, in K.

        A slope tells nothing while the cold air of a door goes.
        """
        if self._foresight.door.in_doubt:
            return 0.0
        return self._climb.slope * coast_s(self._known[0].coasts, self._climb.reads_c)

    @property
    def _late_share(self) -> float:
        """Return how late this heat's sensor is, as a share of the late twin's, as far as that is no chance.

        Compared with what the filter found on the learning heat: it may call a sound sensor 8 % quicker.
        """
        found, usual = self._foresight.filter, self._known[0].usual
        slower = found.logs[0] - (0.0 if usual is None else usual.lag)
        surely = min(slower, _SURER * (slower - _BY_CHANCE))
        began = 0.0 if self._twins is None else self._twins.late_start
        return max(surely / math.log(LATE), min(began, _SURER * (began - _BEGAN_BY_CHANCE)), 0.0)

    @property
    def _doubt(self) -> float:
        """Return how much later this heat's sensor may be than found (one sd), as `_late_share`."""
        return self._foresight.filter.learnt_sd[0] / math.log(LATE)

    @property
    def _caution(self) -> float:
        """Return how much longer a coast is taken than the filter foresees."""
        known = (_UNKNOWN_SD - self._foresight.filter.learnt_sd[0]) / (_UNKNOWN_SD - _KNOWN_SD)
        return _LEARNED_COAST + (_SHOWN_COAST - _LEARNED_COAST) * min(max(known, 0.0), 1.0)


def _at_rest(state: OvenState) -> bool:
    """True where all of an oven has one temperature, and no explanation of it says another."""
    return max(state.nodes) - min(state.nodes) < _REST_K
