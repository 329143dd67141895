"""Heat a little, look at the coast, go on: how an oven that nobody has learned shows what it is.

What a nameplate says of a coast may be wrong by a factor of several, so nothing of it is used here. A first
pulse ends early, where no coast harms. Once the sensor has come to rest, its whole rise over the seconds of
heat is what this oven gives for a second of full heat, and the mean time by which the reading was late is
its lag. Both bound the next pulse. In an oven whose answers add up (a linear one) neither bound can be
passed: a longer pulse loses more by the second, and coasts no further for its slope than a shorter one.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

from kilnctl.control.coast_pi import LongPulse
from kilnctl.control.pulse import LONGEST_S, REST_K, TOLD_K, Pulse, PulseResponse
from kilnctl.control.settling import Course
from kilnctl.model.drying import BOILS_C, STANDS_TO_C
from kilnctl.model.oven_model import Coasted
from kilnctl.model.seen_coasts import Climb, coast_s

# The first pulse ends when the sensor has risen by this share of the way, and by so many kelvin at least, or
# after its dose: the sensor may be so late that the oven has had enough before it shows. A dose that told
# nothing is followed by twice as much.
# Where elements may be hidden no dose is larger than that of such a way, or a retort has had its fill long
# before it answers; and where it told nothing it is looked at for so long at least.
_FIRST_SHARE, _FIRST_K, _MORE = 0.05, 6.0, 2.0
_DOSE_WAY_K, _FIRST_LOOK_S = 300.0, 120.0
# Of a short way a quarter is enough for both.
_SHORT_WAY = 0.25
# A forecast is taken this much higher, by one pulse or by several, and it ends this far short of the goal.
_CAUTION, _CAUTION_LATER, _SHORT_K = 1.5, 1.25, 1.0
# The coasts that a learning heat has shown are taken this much longer: today's sensor may be slower.
_CAUTION_KNOWN = 1.25
# No pulse is longer than this many times the one before it: ten kelvin say little of 200.
_LONGER = 4.0
# A pulse that lifts the sensor by less tells nothing. A slope is taken over this share of the lag at least.
_LITTLE_K, _SLOPE_SHARE = 8.0, 0.1
# In a warm oven the first pulse may show heat of before: where the next gives less than this share of it, it
# did (18 K for 19 s of a retort, nothing for the next 18 s).
_ITS_OWN = 0.25
# A glowing oven has a quicker sensor, but none below this share of the longest lag that it showed.
_SHARE_OF_LONGEST = 0.4
# A coast that ends where water boils has gone into steam, where it brought less than this share of what heat
# and slope foresaw: at 100 degC no oven that tempers loses so much. It says nothing of gain, lag and coast.
_STEAMS = 0.5
# A warm oven, or one that was disturbed, is looked at for so long before a pulse, until its reading rises by
# no more (K/s) than this, and than it did so long before, and after the longest time in any case: what
# follows the cold air of a door is no answer to heat. Over water it stands, so there it has to fall.
# A warm one still gives what it was given before until its slope, over the look, is next to nothing.
_RISES, _FALLS, _STILL, _LOOK_S = 0.025, 0.005, 0.004, 40.0
# Where less of a pulse's rise is left after the look, as in a glowing oven, a pulse that ends so near its
# goal has no look: the PI goes on from it.
_KEEPS, _NEAR_K = 0.8, 20.0


class Creep:
    """Pulse after pulse towards a goal. One per run.

    `shown` is the last pulse that told something, `pulsed` of it what a PI asks, `gives` the most that any
    gave (K for a second of full heat), `lag_s` how late the sensor is by now, `held` the share of full heat
    that would have kept the reading where it was. `stuck` where a pulse came to little: a hot oven loses
    between two pulses what one of them brings. `unlooked` where the last pulse ended near its goal without a
    look. `stood_at_c` is where the reading stood under full heat, as it does over water that boils; None
    where it has not. `pulse` is the one that goes on, until the end of its coast.
    """

    def __init__(self, first_s_per_k: float, hidden: bool = True) -> None:
        """`first_s_per_k` is the first dose, in seconds of full heat for a kelvin of the way.

        `hidden`: something may stand between element and chamber.
        """
        self._dose_s_per_k, self._hidden, self._pulses = first_s_per_k, hidden, 0
        self._doses = 1.0
        self.pulse: Pulse | None = None
        self.shown: PulseResponse | None = None
        self.pulsed: LongPulse | None = None
        self.gives = self.held = self.lag_s = self._longest_s = self._wait_s = 0.0
        self.stuck = self.unlooked = False
        self.stood_at_c: float | None = None
        self._rests = self._cold = True
        self._looked_s = self._slope_was = self._longest_coast_s = 0.0
        self._cut_c, self._foreseen_c, self._after_steam = 0.0, -math.inf, False
        self._watched_c = 0.0
        self._coasts: Sequence[Coasted] = ()
        self._climb, self._hides_to_c = Climb(), -math.inf

    def know_water(self, gives: float, lag_s: float, hides_to_c: float) -> None:
        """Take what a learned oven gives and how late it is; to `hides_to_c` water hides what is given."""
        self.shown = PulseResponse(_LITTLE_K, gives, lag_s, lag_s, math.inf, math.inf, _LITTLE_K)
        self.gives, self.lag_s, self._longest_s, self._longest_coast_s = gives, lag_s, lag_s, lag_s
        self._wait_s, self._hides_to_c, self._pulses = lag_s, hides_to_c, 1

    def know(self, coasts: Sequence[Coasted]) -> None:
        """Take the coasts that the learning heat has shown: one pulse then goes nearly all the way."""
        self._coasts = coasts

    def forget(self, rests: bool) -> None:
        """Drop a pulse that was disturbed; `rests` where the oven is cold, and goes nowhere by itself."""
        self.pulse, self._rests, self._looked_s = None, rests, 0.0
        if self.shown is None:
            self._cold = rests

    def asks(self, course: Course, goal_c: float, heat: float, dt_s: float) -> bool:
        """Take a tick; return whether full heat is asked now. A pulse that is over leaves none."""
        pulse, known = self.pulse, bool(self._coasts) and self.shown is None
        if pulse is None:
            if not known and not self._calm(course, dt_s):
                return False
            falls = not self._cold and self.shown is None
            pulse, self._climb = Pulse(course.mean_c, self._wait_s, self._hides_to_c, falls), Climb()
            self.pulse = pulse
        else:
            pulse.see(course, heat, dt_s)
        told_k = min(TOLD_K, _SHORT_WAY * (goal_c - pulse.from_c))
        if pulse.shown is not None and self.shown is None and pulse.shown.rise_k < told_k:
            self._dose_s_per_k *= _MORE
            self._doses *= _MORE
            pulse.resume()
        if pulse.shown is not None:
            self._take(pulse.shown, course)
            self.pulse = None
            return False
        if known:
            self._climb.see(course.mean_c, dt_s)
            if self._far_enough(goal_c):
                self.pulse = None
                return False
            return True
        if not pulse.looking and self._enough(pulse, course, goal_c, dt_s):
            if self._loses and goal_c - course.mean_c < _NEAR_K:
                self.pulse, self.stuck, self.unlooked = None, True, True
                return False
            self._cut_c = course.mean_c
            if self.shown is not None:
                self._foreseen_c = pulse.foresees_c(course, self.shown, self.gives)
            looks_s = self._looks_s(course.mean_c - pulse.from_c < told_k, course)
            pulse.cut(course, looks_s, looks_s if self._cold else 0.0)
        return not pulse.looking

    def _looks_s(self, deaf: bool, course: Course) -> float:
        """Return for how long at least the look at a pulse takes that the sensor is `deaf` to as yet.

        Where a warm oven falls by more than a pulse has to tell meanwhile, so long a look tells nothing.
        """
        deaf = deaf and self._hidden and self.shown is None
        hides = not self._cold and course.slope * _FIRST_LOOK_S < -TOLD_K
        doses = self._doses if self._cold else 1.0
        return min(_FIRST_LOOK_S * doses, LONGEST_S) if deaf and not hides else 0.0

    def _far_enough(self, goal_c: float) -> bool:
        reads_c = self._climb.reads_c
        coasts_k = max(self._climb.slope, 0.0) * coast_s(self._coasts, reads_c)
        return reads_c + _CAUTION_KNOWN * coasts_k > goal_c - _SHORT_K

    @property
    def _loses(self) -> bool:
        return self.shown is not None and self.shown.stayed_k < _KEEPS * self.shown.rise_k

    def _calm(self, course: Course, dt_s: float) -> bool:
        self._slope_was += (course.slope - self._slope_was) * (dt_s / _LOOK_S if self._looked_s else 1.0)
        if not self._looked_s:
            self._watched_c = course.mean_c
        self._looked_s += dt_s
        if self.shown is None and not self._cold and course.mean_c > self._watched_c + REST_K:
            self._watched_c, self._wait_s = course.mean_c, self._looked_s
        rises = _RISES if course.mean_c > self._hides_to_c else -_FALLS
        calm = self._looked_s > _LOOK_S and course.slope < rises + min(self._slope_was, 0.0)
        calm = calm and (self._cold or self._slope_was < _STILL)
        self._rests = self._rests or calm or self._looked_s > LONGEST_S
        return self._rests

    def _take(self, shown: PulseResponse, course: Course) -> None:
        self.unlooked = False
        if course.mean_c < self._hides_to_c:
            return
        if self._steamed(course):
            self._after_steam = True
            return
        before, little = self.shown, self.shown is not None and shown.rise_k < _LITTLE_K
        if before is not None and little and self.pulse is not None and self.pulse.stood:
            # A bath took it all: no reason to give up pulses for a PI, whose integral would rise meanwhile.
            self.shown = replace(before, hid=True)
            return
        if before is not None and self._after_steam:
            # What went into water or salt before comes with it, and early.
            shown = _no_better(shown, before, self.gives)
        self._after_steam = False
        self.stuck = little
        self.held = max(shown.on_s - shown.stayed_k / max(self.gives, shown.gives), 0.0) / shown.all_s
        if self.stuck:
            if self._pulses == 1 and not self._cold and shown.gives < _ITS_OWN * self.gives:
                self.shown, self.gives, self._pulses, self.stuck = None, 0.0, 0, False
            return
        if shown.hid and self.shown is not None:
            # Its slope stood near nothing, and says nothing of how late the sensor is.
            shown = replace(shown, lag_s=self.shown.lag_s, coast_s=self.shown.coast_s)
        self.shown, self._pulses = shown, self._pulses + 1
        self.pulsed = LongPulse(shown.rise_k / max(shown.on_s, 1.0), shown.settles_s)
        self.gives = max(self.gives, shown.gives)
        self._longest_s = max(self._longest_s, shown.lag_s)
        self._longest_coast_s = max(self._longest_coast_s, shown.coast_s)
        self._wait_s = min(shown.lag_s, shown.coast_s)
        self.lag_s = max(shown.lag_s, _SHARE_OF_LONGEST * self._longest_s)
        course.over(_SLOPE_SHARE * self.lag_s)

    def _steamed(self, course: Course) -> bool:
        """Return whether a coast that is over has gone into water that boils."""
        rose_k, foreseen_k = course.mean_c - self._cut_c, self._foreseen_c - self._cut_c
        return BOILS_C[0] <= course.mean_c <= STANDS_TO_C and rose_k < _STEAMS * foreseen_k

    def _enough(self, pulse: Pulse, course: Course, goal_c: float, dt_s: float) -> bool:
        if self.shown is None:
            way_k = goal_c - pulse.from_c
            enough_k = min(max(_FIRST_SHARE * way_k, _FIRST_K), _SHORT_WAY * way_k)
            dose_k = min(way_k, _DOSE_WAY_K) if self._hidden else way_k
            dosed = pulse.on_s >= self._dose_s_per_k * dose_k
            return dosed or course.mean_c - pulse.from_c >= enough_k
        caution = _CAUTION if self._pulses == 1 else _CAUTION_LATER
        leaves = pulse.leaves(course, self.shown, self.gives, dt_s)
        if pulse.stood and self.stood_at_c is None:
            self.stood_at_c = course.mean_c
        if leaves or pulse.on_s > _LONGER * self.shown.on_s:
            return True
        ends_c = pulse.ends_c(course, self.shown, self.gives, caution, self._cold, self._longest_coast_s)
        return ends_c > goal_c - _SHORT_K


def _no_better(shown: PulseResponse, before: PulseResponse, gives: float) -> PulseResponse:
    """Return what a pulse has shown, with no more gain than was known, and no shorter lag and coast."""
    return replace(
        shown,
        gives=min(shown.gives, gives),
        lag_s=max(shown.lag_s, before.lag_s),
        coast_s=max(shown.coast_s, before.coast_s),
    )
