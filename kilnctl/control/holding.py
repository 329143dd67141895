"""The hold: the constant duty that brings the sensor to the set-point over the oven's own dead time.

On a ramp that is the set-point of the profile ahead. What the model cannot say of this oven a hold finds out
by itself (`settling`): where to aim, how gently, and with a contactor how long its window may be.
"""

import math

from kilnctl.config.oven import Oven
from kilnctl.control.coast_pi import CoastPi
from kilnctl.control.control_io import ControlInput
from kilnctl.control.foresight import LONGEST_S, Foresight
from kilnctl.control.settling import COURSE_LATE_S, COURSE_S, Course, Settling
from kilnctl.control.switching_window import Ripple, Stretch
from kilnctl.model.filter import DRAUGHT_S
from kilnctl.model.oven_model import OvenState, advance, holding_duty, lost
from kilnctl.model.physical_bounds import within

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
# The most that a hold asks: this share of what leaves the chamber, or flowed in the last minute if that is
# more, so much anyhow, so much per kelvin below.
_MOST_SHARE, _MOST_ANYHOW, _MOST_PER_K, _LATELY_S = 1.3, 0.05, 0.06, 60.0
# A model that fits is surprised by 1.3 at most when a hold begins (mean squared innovation over its
# prediction), one that misses how late the sensor is by 2.5 and more.
_SURPRISED, _MOST_SURPRISED = 1.5, 2.0
# What a hold finds of its oven is looked at in steps.
_SETTLE_EVERY_S = 4.0
# A hold that has swung so often by so much each way, or stood aside by so much for so many dead times, or
# whose oven surprises its model by so much, goes by what its readings show: the model that foretold otherwise
# is not this oven's. What swings without any news is moved from outside.
_NEWS = 0.7
# A window this long beside the dead time swings by its own pulses, and a PI by them. A quicker oven than this
# comes to rest by its model (a fan: 0.1 K settled, 0.5 by readings).
_BEARS_WINDOWS, _QUICK_S = 2.0, 45.0
# A swing that lasts shows how late its oven is: it takes four dead times (an integrator with dead time,
# textbook). It counts from so many halves on, where the model is surprised by so much and the last half took
# more than two windows: not the relay's own pulses.
_SWING_DELAYS, _LASTS, _MISLED = 4.0, 4, 3.0
# The dead time that half a swing shows (half of it) is to be twice as long as a PI sees its course late, at
# least: a current that is let up slowly swung every 75 s, and a PI made 17 K of it.
_SEEN_LATE = 4.0
# Where no switch tells of a door: a PI that is younger was called by its cold air and has found nothing.
_UNKNOWN_AIR_S = 40.0
_SWUNG, _SWUNG_K, _ASIDE_K, _ASIDE_DELAYS, _ASIDE_S, _ASTONISHED = 2, 0.6, 1.0, 2.0, 240.0, 10.0


class Holding:
    """Follows a set-point from near. One per run.

    `window_s` is what a contactor's window may be now, `lately` the heat (0..1) of the last minute.
    """

    def __init__(self, oven: Oven, foresight: Foresight) -> None:
        self._window_s, self._ambient_c, self._foresight = oven.switching.window_s, oven.ambient_c, foresight
        self.window_s: float | None = None
        self._count_k = oven.signal.process.step_k
        self._settling, self._holding, self._lands = Settling(), False, False
        self._course, self._pi, self._shown = Course(), CoastPi(), 0.0
        self._aside_s = self._side = self._held_s = self._steered_s = self.lately = 0.0
        self._drinks = self._missed = self._gave = self._charge = self._balanced_s = self._late_s = 0.0
        self._seen_s = self._gap_ks = self._leaves = self._aimed = self._asked = 0.0
        self._aim_s = self._reach_s = -1.0
        # At which set-point it holds, what a PI took to hold it when a door came, and what a hold has left.
        self._held_c: float | None = None
        self._held: float | None = None
        self._left: tuple[Settling, float, float | None] | None = None
        self._ripple: Ripple | None = None
        self._stretch: Stretch | None = None
        self._reaches: list[float] = []
        self._reach_step_s = 0.0

    @property
    def eased(self) -> float:
        """Return how much further ahead than its dead time this hold aims.

        What it has learned, or as much as the oven surprises its model now: one that is built otherwise
        answers later than its model says, and a hold that does not know it swings. Landing it would sag.
        """
        seen = self._foresight
        calm = seen.door.in_doubt and seen.filter.surprise < _ASTONISHED
        if self._lands or seen.filter.shaken or calm:
            return self._settling.eased
        eased, surprised = self._settling.eased, seen.filter.surprise / _SURPRISED
        surprised = _MOST_SURPRISED if surprised > _MOST_SURPRISED else surprised
        return surprised if surprised > eased else eased

    def flowed(self, heat: float, dt_s: float) -> None:
        """Take the heat (0..1) that flowed in a tick, whatever the mode."""
        self.lately += (heat - self.lately) * dt_s / (dt_s + _LATELY_S)

    def settle(self, look: ControlInput, gap_k: float, holds: bool, lands: bool = False) -> bool:
        """Let a hold find out where to aim and how gently; forgotten when it ends. True where it eased."""
        self._lands = lands
        if not holds:
            self._leave(look)
            return False
        self._holding, self._held_c, self._left = True, look.setpoint_c, None
        self._seen_s += look.dt_s
        self._gap_ks += gap_k * look.dt_s
        if self._seen_s < _SETTLE_EVERY_S:
            return False
        before, seen_s, gap_k = self._settling.eased, self._seen_s, self._gap_ks / self._seen_s
        self._seen_s = self._gap_ks = 0.0
        if self._foresight.door.sets_aside(self._held is not None or self._pi.begun):
            self._set_aside()
            return False
        assert look.setpoint_c is not None
        self._course.see(look.setpoint_c - gap_k, seen_s)
        self._held_s += seen_s
        gives, delay_s = self._foresight.answer_at(look.setpoint_c)
        if not self._pi.begun:
            self._late_s = max(self._late_s, self._shown_late_s(delay_s))
            self._balance(max(delay_s, self._late_s), seen_s)
        delay_s = max(delay_s, self._late_s)
        if not self._pi.begun and self._misled(gap_k, delay_s, seen_s):
            self._pi.begin(self._holds_at(look.setpoint_c), self._course.slope, gives, self._held is not None)
            self._steered_s, self._held = 0.0, None
        if self._pi.begun:
            self._by_readings(look, look.setpoint_c, gives, delay_s, seen_s)
        self._settling.see(gap_k, delay_s, self._aimed, seen_s, lands)
        return self._settling.eased > before

    def _leave(self, look: ControlInput) -> None:
        """Forget what a hold has found when it ends; after a door it goes on where it was.

        A door changes neither how late an oven answers nor what its model misses. Where no switch tells of it
        the reading may have fallen out of the hold before its cold air is known.
        """
        if self._holding:
            self._set_aside()
            self._settling.begin_again(self._held is None)
            self._left = self._settling, self._late_s, self._held
            self._settling, self._course, self._late_s, self._held = Settling(), Course(), 0.0, None
            self._seen_s = self._gap_ks = self._held_s = self._aside_s = 0.0
            self._holding = False
        if self._left is not None and self._foresight.door.in_doubt and look.setpoint_c == self._held_c:
            (self._settling, self._late_s, self._held), self._left = self._left, None
        elif look.setpoint_c != self._held_c and self._held_c is not None:
            self._settling, self._late_s = Settling(), 0.0
            self._held_c = self._held = self._left = None

    def _set_aside(self) -> None:
        """Let no reading steer while a door's cold air goes."""
        if self._pi.begun and self._steered_s > _UNKNOWN_AIR_S:
            self._held = self._pi.holds - self._charge
        self._pi.forget()
        self._balanced_s = self._charge = 0.0

    def _misled(self, gap_k: float, delay_s: float, dt_s: float) -> bool:
        """True where a hold swings by its own doing, stands aside, or surprises its model very much.

        What a draught moves does not surprise the model so; what comes home by itself soon does well.
        """
        homing = 2.0 * delay_s * self._course.slope * gap_k > gap_k * gap_k
        aside = abs(gap_k) > _ASIDE_K and gap_k * self._side > 0.0 and not homing
        self._aside_s, self._side = self._aside_s + dt_s if aside else 0.0, gap_k
        bears = self._late_s > 0.0 or self._lasts or delay_s > max(_BEARS_WINDOWS * self._window_s, _QUICK_S)
        if self._held_s < COURSE_S or (not bears and self._held is None):
            return False
        if self._held is not None:
            return True
        swing, filter_ = self._settling.swing, self._foresight.filter
        swings = swing.turns >= _SWUNG and swing.half_k > _SWUNG_K and not swing.dies
        swings = swings and swing.half_s > (self.window_s or self._window_s)
        astonished = filter_.surprise > _ASTONISHED and not filter_.shaken
        stands = self._aside_s > max(_ASIDE_DELAYS * delay_s, _ASIDE_S)
        return astonished or stands or (swings and filter_.surprise > _NEWS)

    def _shown_late_s(self, delay_s: float) -> float:
        """Return how late in s an oven is by its swing; 0 where no later than by its model, or in a draught.

        A model that takes its oven for quicker than it is swings it for ever: a muffle by 6 K at 829 degC, a
        light oven with a contactor by 4 K.
        """
        late_s = min(2.0 * self._settling.swing.half_s / _SWING_DELAYS, LONGEST_S)
        return late_s if self._lasts and late_s > delay_s else 0.0

    @property
    def _lasts(self) -> bool:
        """True where a hold swings on, by a model that its oven surprises and not by its relay's own pulses.

        However quick that model thinks its oven: kept away for it, a PI left a door's corner to swing by 4 K.
        """
        swing, filter_ = self._settling.swing, self._foresight.filter
        window_s = self.window_s or self._window_s
        lasts = swing.turns >= _LASTS and swing.half_k > _SWUNG_K and swing.half_s > _BEARS_WINDOWS * window_s
        seen = swing.half_s > _SEEN_LATE * COURSE_LATE_S
        return lasts and seen and filter_.surprise > _MISLED and filter_.base.calm

    def _balance(self, delay_s: float, dt_s: float) -> None:
        """Follow over a whole swing what walls drink, what the model misses, and what was given.

        All swing along: taken at the moment of a takeover, 0.19 for 0.11 held an embedded element 3 K high.
        """
        self._balanced_s += dt_s
        share = dt_s / min(self._balanced_s, _SWING_DELAYS * delay_s)
        self._drinks += (self._leaving - self._drinks) * share
        self._missed += (self._foresight.unknown - self._missed) * share
        self._gave += (self._aimed - self._gave) * share

    def _holds_at(self, setpoint_c: float) -> float:
        """Return what is taken to hold the reading when a PI takes over: no less than with soaked walls.

        An astonished model puts its whole error down to unknown heat. Believed, that heat passed by 8.9 K in
        two zones, by 5.2 in a door's corner, by 5.7 with an embedded element. No more than a hold gave that
        has swung to both sides either (a closed box: 0.73 where 0.60 held it, 5.3 K over).
        """
        seen = self._foresight
        soaked = min(holding_duty(seen.filter.base, setpoint_c, self._ambient_c), 1.0)
        holds = self._drinks - self._missed
        if seen.filter.surprise > _ASTONISHED:
            holds = min(holds, max(self._drinks, _MOST_SHARE * soaked))
        if self._settling.swing.turns >= _SWUNG:
            holds = min(holds, self._gave)
        if self._held is not None:
            # A cold charge drinks beside what held before the door, if the model is to be believed in that.
            self._charge = 0.0 if seen.filter.surprise > _ASTONISHED else seen.door.drinks
            holds = self._held + self._charge
        return max(holds, soaked)

    def _by_readings(
        self, look: ControlInput, setpoint_c: float, gives: float, delay_s: float, dt_s: float
    ) -> None:
        """Let a PI steer from readings alone; walls and a charge drink ever less, as the model says."""
        course, pi = self._course, self._pi
        moved = min(self._leaving - self._drinks, 0.0) * dt_s / (dt_s + delay_s)
        self._drinks += moved
        drank, self._charge = self._charge, min(self._charge, self._foresight.door.drinks)
        pi.shift(moved + self._charge - drank)
        pi.asked(self._aimed, delay_s, dt_s)
        self._steered_s += dt_s
        window_s = self.window_s or self._window_s
        course.over(window_s)
        lag_s = delay_s + window_s / 2 + COURSE_LATE_S
        self._shown = pi.step(look, course.mean_c, course.slope, setpoint_c, gives, lag_s, dt_s)

    @property
    def _leaving(self) -> float:
        """Return the heat that leaves the chamber now, in fractions of full power, by the oven as learned.

        This heat's factors are what misled the hold (a sagging supply: power x 0.7, and 2 K too high).
        """
        filter_ = self._foresight.filter
        assert filter_.state is not None
        return lost(filter_.base, filter_.state, self._ambient_c) / filter_.base.power

    def evenly(self, mode: str, look: ControlInput, state: OvenState, setpoint_c: float) -> float:
        """Return the duty of an output that can be switched at will."""
        self._ripple = self._stretch = self.window_s = None
        if mode == "hold" and self._pi.begun:
            self._aimed = self._shown
            return self._shown
        return self._aim(mode, look, state, setpoint_c)

    def spared(self, look: ControlInput, state: OvenState, heat: float, setpoint_c: float) -> float:
        """Hold with a contactor: blind to its own ripple, with a window as long as the oven bears."""
        outlook = self._foresight.outlook(state)
        if self._ripple is None or self._stretch is None:
            self._ripple, self._stretch = Ripple(state), Stretch(self._window_s, self._count_k)
        else:
            state = self._ripple.step(outlook, self._asked, heat, look.dt_s)
        self._asked = self._shown if self._pi.begun else self._aim("hold", look, state, setpoint_c)
        self._aimed = self._asked
        self._stretch.step(outlook, self._asked, heat, look.dt_s, self._settling.swing)
        self.window_s = self._stretch.window_s
        return self._asked

    def at_most(self, most: float, duty: float) -> float:
        """Return a hold's duty where it may ask no more than that; what it learns of itself goes by it."""
        if duty > most:
            self._aimed = self._asked = duty = most
        return duty

    def _aim(self, mode: str, look: ControlInput, state: OvenState, setpoint_c: float) -> float:
        if look.at_s < self._aim_s:
            return self._aimed
        self._aim_s = look.at_s + _AIM_EVERY_S
        seen, ambient_c = self._foresight, self._ambient_c
        model, unknown = seen.filter.model, seen.unknown
        step_s = self._ahead_s(mode, setpoint_c) / _STEPS
        cold, asked, given = state, 0.0, 1e-9
        faded = math.exp(-step_s / DRAUGHT_S)
        draught_k = seen.draught_k * (1.0 + faded) / 2.0
        before_s = self._reach_step_s
        reaches = self._reach_k(look.at_s, state, step_s)
        if step_s != before_s or not self._settling.worth:
            self._settling.aims(sum(reaches[i - 1] for i in _AIMS), sum(reaches[i - 1] ** 2 for i in _AIMS))
        for i, reach_k in enumerate(reaches, 1):
            cold = advance(model, cold, 0.0, ambient_c, step_s, unknown, draught_k)
            draught_k *= faded
            if i in _AIMS:
                asked += reach_k * (self._aim_c(look, setpoint_c, i * step_s) - cold.junction_c)
                given += reach_k * reach_k
        self._aimed = within(asked / given, 0.0, self._most(mode, look, setpoint_c))
        return self._aimed

    def _most(self, mode: str, look: ControlInput, setpoint_c: float) -> float:
        """Return the most that a hold may ask: some more than leaves the chamber or was lately needed.

        An oven that hides heat from its sensor falls, and comes back by itself: a forecast that knows nothing
        of it asks for four times what the oven needs.
        """
        if mode != "hold" or self._foresight.door.in_doubt or self._foresight.filter.shaken:
            return 1.0
        needs = self._leaves if self._leaves > self.lately else self.lately
        most, gap_k = _MOST_SHARE * needs + _MOST_ANYHOW, setpoint_c - look.process_c
        most = most + _MOST_PER_K * gap_k if gap_k > 0.0 else most
        return 1.0 if most > 1.0 else most

    def _reach_k(self, at_s: float, state: OvenState, step_s: float) -> list[float]:
        """Return by how much full heat lifts the sensor at each step of a look ahead.

        Looked up anew after a while: from hold to hold it changes by half a per cent.
        """
        if at_s >= self._reach_s or step_s != self._reach_step_s:
            self._reach_s, self._reach_step_s = at_s + _REACH_EVERY_S, step_s
            model, ambient_c = self._foresight.filter.model, self._ambient_c
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

    def _ahead_s(self, mode: str, setpoint_c: float) -> float:
        """Return how far ahead the hold aims now."""
        delay_s = self._foresight.delay_at_s(setpoint_c)
        if mode == "ramp":
            return max(_RAMP_SHARE * delay_s, min(delay_s, _RAMP_FULL_S))
        if self.window_s is not None:
            # A contactor swings by its own pulses, which is no reason to aim further ahead.
            return delay_s + _WINDOW_SHARE * self.window_s
        return self.eased * delay_s
