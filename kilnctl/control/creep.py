"""Heat a little, look at the coast, go on: how an oven that nobody has learned shows what it is.

What a nameplate says of a coast may be wrong by a factor of several, so nothing of it is used here. A first
pulse ends early, where no coast harms. Once the sensor has come to rest, its whole rise over the seconds of
heat is what this oven gives for a second of full heat, and the mean time by which the reading was late is
its lag. Both bound the next pulse. In an oven whose answers add up (a linear one) neither bound can be
passed: a longer pulse loses more by the second, and coasts no further for its slope than a shorter one.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from kilnctl.control.coast_pi import LongPulse
from kilnctl.control.settling import Course
from kilnctl.model.oven_model import Coasted
from kilnctl.model.seen_coasts import Climb, coast_s

# The first pulse ends when the sensor has risen by this share of the way, and by so many kelvin at least, or
# after its dose: the sensor may be so late that the oven has had enough before it shows. A dose that lifted
# it by less tells nothing, and is followed by twice as much.
# Where elements may be hidden no dose is larger than that of such a way, or a retort has had its fill long
# before it answers; and where it told nothing it is looked at for so long at least.
_FIRST_SHARE, _FIRST_K, _TOLD_K, _MORE = 0.05, 6.0, 5.0, 2.0
_DOSE_WAY_K, _FIRST_LOOK_S = 300.0, 120.0
# Of a short way a quarter is enough for both.
_SHORT_WAY = 0.25
# A forecast is taken this much higher, by one pulse or by several, and it ends this far short of the goal.
_CAUTION, _CAUTION_LATER, _SHORT_K = 1.5, 1.25, 1.0
# The coasts that a learning heat has shown are taken this much longer: today's sensor may be slower.
_CAUTION_KNOWN = 1.25
# What an oven gave is not taken for less than this share of the most that it gave: what it gave in a long
# pulse it exceeds in a short one.
_LEAST_SHARE = 0.6
# Where a reading rises faster than any pulse gave by the second, by this factor, answers do not add up: a
# current that is let up slowly gave 1.4 times as much in a pulse twice as long, and passed by 10 K.
_GREW = 1.15
# The sensor is at rest when it has not risen by this for so long, and for this share of the time that it
# took to rise, or when it has fallen by as much from its peak; or after so long:
# what its slope has still to bring by then counts as risen.
_REST_K, _REST_S, _REST_SHARE, _LONGEST_S = 0.5, 40.0, 0.5, 900.0
# No pulse is longer than this many times the one before it: ten kelvin say little of 200.
_LONGER = 4.0
# A pulse that lifts the sensor by less tells nothing. A slope is taken over this share of the lag at least.
_LITTLE_K, _SLOPE_SHARE = 8.0, 0.1
# In a warm oven the first pulse may show heat of before: where the next gives less than this share of it, it
# did (18 K for 19 s of a retort, nothing for the next 18 s).
_ITS_OWN = 0.25
# In a pulse that is longer than this many lags losses hide the lag, and the coast for its slope tells it.
_LONG = 3.0
# A glowing oven has a quicker sensor, but none below this share of the longest lag that it showed.
_SHARE_OF_LONGEST = 0.4
# A warm oven, or one that was disturbed, is looked at for so long before a pulse, until its reading rises by
# no more (K/s) than this, and than it did so long before, and after the longest time in any case: what
# follows the cold air of a door is no answer to heat. Over water it stands, so there it has to fall.
# A warm one still gives what it was given before until its slope, over the look, is next to nothing.
_RISES, _FALLS, _STILL, _LOOK_S = 0.025, 0.005, 0.004, 40.0
# Where less of a pulse's rise is left after the look, as in a glowing oven, a pulse that ends so near its
# goal has no look: the PI goes on from it.
_KEEPS, _NEAR_K = 0.8, 20.0
# A pulse in which the reading rose, at its end, by less than this share of what it gave has hidden heat: a
# bath that melts, water that boils. What comes after it gives more than it did.
_HIDES, _HID_FROM_LAGS = 0.15, 2.0
# One in which it has stood like that for so long, after so many lags, and rises again by this share, has
# filled what hid its heat: it ends.
_LEAVES, _STANDS_S, _STANDS_FROM_LAGS = 0.25, 90.0, 1.0
# A pulse lost most of its heat where, at the rate of the look's end, it lost this share of all that it gave.
_LOSES_MOST = 0.5
# No lag is shorter than this: half a switching window, a module of its own pace.
_LEAST_LAG_S = 10.0


@dataclass(frozen=True, slots=True)
class PulseResponse:
    """What a pulse has shown of its oven.

    `rise_k` is its rise, `gives` what a second of full heat lifts it by where nothing is lost, `lag_s` the
    mean time by which the reading is late, `coast_s` what it rose after the cut over its slope there, `on_s`
    the seconds of heat, `all_s` those of pulse and look, `stayed_k` the rise that was left in the end. `hid`
    where heat went in at its end that the reading did not show. `settles_s` is the time in which the reading
    answers all that it does at once, where it then loses most of what it is given: how long it rose as fast
    as it gives, had it gone on so.
    """

    rise_k: float
    gives: float
    lag_s: float
    coast_s: float
    on_s: float
    all_s: float
    stayed_k: float
    hid: bool = False
    settles_s: float = math.inf


class Pulse:
    """One pulse from rest and the look at its coast. `shown` is None until the coast is over.

    No coast is over within `late_s` (s), the lag known so far, nor by a stand below `hides_to_c`, over water.
    """

    def __init__(self, reads_c: float, late_s: float = 0.0, hides_to_c: float = -math.inf) -> None:
        self._late_s, self._hides_to_c = late_s, hides_to_c
        self.from_c = self._peak_c = self._marked_c = reads_c
        self._on_s = self._all_s = self._area_ks = 0.0
        self._cut_c: float | None = None
        self._cut_slope = self._still_s = self._rose_s = self._since_s = self._peak_area = self._peak_s = 0.0
        self.shown: PulseResponse | None = None
        self.stood, self._stands_s = False, 0.0

    @property
    def looking(self) -> bool:
        """True once the heat is off."""
        return self._cut_c is not None

    def see(self, course: Course, heat: float, dt_s: float) -> None:
        """Take a tick, with the heat (0..1) that flowed in it."""
        reads_c = course.mean_c
        self._on_s += heat * dt_s
        self._all_s += dt_s
        self._area_ks += (reads_c - self.from_c) * dt_s
        if reads_c > self._peak_c:
            self._peak_c, self._peak_s, self._peak_area = reads_c, self._all_s, self._area_ks
        if not self.looking:
            return
        self._since_s += dt_s
        self._still_s += dt_s
        if reads_c > self._marked_c + _REST_K:
            self._marked_c, self._still_s, self._rose_s = reads_c, 0.0, self._since_s
        if self._since_s < self._late_s:
            return
        rests = reads_c > self._hides_to_c and self._still_s > max(_REST_S, _REST_SHARE * self._rose_s)
        fallen = self._peak_c - reads_c > _REST_K and self._still_s > _REST_S / 2
        if rests or fallen or self._since_s > _LONGEST_S:
            self._say(course)

    def leaves(self, course: Course, before: PulseResponse, gives: float, dt_s: float) -> bool:
        """Return whether the reading rises again after it has stood under full heat; sets `stood`.

        Water that boils keeps it at 100 degC, a bath at its melting point, while all around gets hotter.
        """
        still = self._on_s > _STANDS_FROM_LAGS * before.lag_s and course.slope < _HIDES * gives
        # Up and down: steps of a whole kelvin make a slope of their own.
        self._stands_s = max(self._stands_s + (dt_s if still else -dt_s), 0.0)
        self.stood = self.stood or self._stands_s > _STANDS_S
        return self.stood and course.slope > _LEAVES * gives

    def cut(self, course: Course, at_least_s: float = 0.0) -> None:
        """Take note that the heat goes off; the look takes `at_least_s`."""
        self._late_s = max(self._late_s, at_least_s)
        self._cut_c, self._cut_slope = course.mean_c, course.slope
        self._marked_c = course.mean_c

    def resume(self) -> None:
        """Heat on: what the look has shown was too little to tell."""
        self._cut_c = self.shown = None
        self._still_s = self._rose_s = self._since_s = 0.0

    @property
    def on_s(self) -> float:
        """Return the seconds of full heat given so far."""
        return self._on_s

    def ends_c(
        self,
        course: Course,
        before: PulseResponse,
        gives: float,
        caution: float,
        cold: bool,
        longest_s: float,
    ) -> float:
        """Return how high the sensor would come at most if the heat went off now.

        `longest_s` is the longest coast for its slope that any pulse showed.
        `cold`: what a second of heat gives was told by a cold oven. A hot one hides it in losses that its
        sensor has not shown yet: there the slope alone tells.
        """
        by_heat_c = self.from_c + caution * max(before.gives, _LEAST_SHARE * gives) * self._on_s
        by_slope_c = course.mean_c + caution * before.coast_s * max(course.slope, 0.0)
        if before.hid or (cold and course.mean_c > by_heat_c):
            # The pulse before told too little: its heat went into a bath that melted.
            return course.mean_c + caution * longest_s * max(course.slope, 0.0)
        cold = cold and course.slope < _GREW * max(before.gives, gives)
        if self._on_s < before.on_s:
            return by_heat_c if cold else max(by_heat_c, by_slope_c)
        return min(by_heat_c, by_slope_c) if cold else by_slope_c

    def _say(self, course: Course) -> None:
        assert self._cut_c is not None
        to_come_k = max(course.slope, 0.0) * self._since_s if self._since_s > _LONGEST_S else 0.0
        rise_k = max(self._peak_c + to_come_k - self.from_c, 0.1)
        # What the oven loses by the second without heat it lost in the pulse too: rise and lag are told
        # against that. A glowing oven lost most of a pulse, and seemed to give a fifth, ten times as late.
        lost_k = max(-course.slope, 0.0) * self._peak_s
        whole_k = rise_k + lost_k
        late_s = self._peak_s - (self._peak_area + lost_k * self._peak_s / 2) / whole_k - self._on_s / 2
        coast_k = max(self._peak_c - self._cut_c, 0.0)
        coast_s = max(coast_k / max(self._cut_slope, 1e-3), _LEAST_LAG_S)
        still = self._on_s > _HID_FROM_LAGS * late_s and self._cut_slope < _HIDES * whole_k / self._on_s
        if self._on_s > _LONG * late_s:
            late_s = max(late_s, coast_s)
        self.shown = PulseResponse(
            rise_k=rise_k,
            gives=whole_k / max(self._on_s, 1.0),
            lag_s=max(late_s, _LEAST_LAG_S),
            coast_s=coast_s,
            on_s=self._on_s,
            all_s=self._all_s,
            stayed_k=course.mean_c - self.from_c,
            hid=still or self.stood,
            settles_s=self._settles_s(rise_k, lost_k, whole_k),
        )

    def _settles_s(self, rise_k: float, lost_k: float, whole_k: float) -> float:
        at_once_k = max(rise_k - self._cut_slope * self._on_s, 0.0)
        return at_once_k * self._on_s / whole_k if lost_k > _LOSES_MOST * whole_k else math.inf


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
        self.pulse: Pulse | None = None
        self.shown: PulseResponse | None = None
        self.pulsed: LongPulse | None = None
        self.gives = self.held = self.lag_s = self._longest_s = self._wait_s = 0.0
        self.stuck = self.unlooked = False
        self.stood_at_c: float | None = None
        self._rests = self._cold = True
        self._looked_s = self._slope_was = self._longest_coast_s = 0.0
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
            pulse, self._climb = Pulse(course.mean_c, self._wait_s, self._hides_to_c), Climb()
            self.pulse = pulse
        else:
            pulse.see(course, heat, dt_s)
        told_k = min(_TOLD_K, _SHORT_WAY * (goal_c - pulse.from_c))
        if pulse.shown is not None and self.shown is None and pulse.shown.rise_k < told_k:
            self._dose_s_per_k *= _MORE
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
            deaf = self.shown is None and self._cold and course.mean_c - pulse.from_c < told_k
            pulse.cut(course, _FIRST_LOOK_S if deaf and self._hidden else 0.0)
        return not pulse.looking

    def _far_enough(self, goal_c: float) -> bool:
        reads_c = self._climb.reads_c
        coasts_k = max(self._climb.slope, 0.0) * coast_s(self._coasts, reads_c)
        return reads_c + _CAUTION_KNOWN * coasts_k > goal_c - _SHORT_K

    @property
    def _loses(self) -> bool:
        return self.shown is not None and self.shown.stayed_k < _KEEPS * self.shown.rise_k

    def _calm(self, course: Course, dt_s: float) -> bool:
        self._slope_was += (course.slope - self._slope_was) * (dt_s / _LOOK_S if self._looked_s else 1.0)
        self._looked_s += dt_s
        rises = _RISES if course.mean_c > self._hides_to_c else -_FALLS
        calm = self._looked_s > _LOOK_S and course.slope < rises + min(self._slope_was, 0.0)
        calm = calm and (self._cold or self._slope_was < _STILL)
        self._rests = self._rests or calm or self._looked_s > _LONGEST_S
        return self._rests

    def _take(self, shown: PulseResponse, course: Course) -> None:
        self.unlooked = False
        if course.mean_c < self._hides_to_c:
            return
        self.stuck = self.shown is not None and shown.rise_k < _LITTLE_K
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
