"""One pulse of heat and the look at its coast: what it has shown of an oven that nobody has learned.

Once the sensor has come to rest, its whole rise over the seconds of heat is what this oven gives for a second
of full heat, and the mean time by which the reading was late is its lag.
"""

import math
from dataclasses import dataclass

from kilnctl.control.settling import Course
from kilnctl.model.drying import BOILS_C, STANDS_TO_C

# A dose that lifted the sensor by less tells nothing.
TOLD_K = 5.0
# What an oven gave is not taken for less than this share of the most that it gave: what it gave in a long
# pulse it exceeds in a short one.
_LEAST_SHARE = 0.6
# Where a reading rises faster than any pulse gave by the second, by this factor, answers do not add up: a
# current that is let up slowly gave 1.4 times as much in a pulse twice as long, and passed by 10 K.
_GREW = 1.15
# The sensor is at rest when it has not risen by this for so long, and for this share of the time that it
# took to rise, or when it has fallen by as much from its peak; or after so long:
# what its slope has still to bring by then counts as risen.
REST_K, _REST_S, _REST_SHARE, LONGEST_S = 0.5, 40.0, 0.5, 900.0
# In a pulse that is longer than this many lags losses hide the lag, and the coast for its slope tells it.
_LONG = 3.0
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

    No coast is over within `late_s` (s), the lag known so far, nor by a stand below `hides_to_c`, over water;
    in a cold oven nor by one from where water boils on, where baths melt too.
    In a warm oven, that `falls` by itself, its rise counts from where it has overtaken the fall.
    """

    def __init__(
        self, reads_c: float, late_s: float = 0.0, hides_to_c: float = -math.inf, falls: bool = False
    ) -> None:
        self._late_s, self._hides_to_c = late_s, hides_to_c
        self._warm = self._falls = falls
        self.from_c = self._began_c = self._peak_c = self._marked_c = reads_c
        self._on_s = self._all_s = self._area_ks = self._heated_s2 = self._low_s = 0.0
        self._cut_c: float | None = None
        self._rest_s = _REST_S
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
        self._heated_s2 += heat * dt_s * (self._all_s + dt_s / 2)
        self._all_s += dt_s
        if self._falls:
            self._overtake(reads_c)
        self._area_ks += (reads_c - self.from_c) * dt_s
        if reads_c > self._peak_c:
            self._peak_c, self._peak_s, self._peak_area = reads_c, self._all_s, self._area_ks
        if not self.looking:
            return
        self._since_s += dt_s
        self._still_s += dt_s
        if reads_c > self._marked_c + REST_K:
            self._marked_c, self._still_s, self._rose_s = reads_c, 0.0, self._since_s
        if self._since_s < self._late_s:
            return
        # Over water, and over a bath that melts, it stands while all around is hotter: there it has to fall.
        hides = reads_c <= self._hides_to_c or (reads_c >= BOILS_C[0] and not self._warm)
        rests = not hides and self._still_s > max(self._rest_s, _REST_SHARE * self._rose_s)
        fallen = self._peak_c - reads_c > REST_K and self._still_s > _REST_S / 2
        if rests or fallen or self._since_s > LONGEST_S:
            self._say(course)

    def _overtake(self, reads_c: float) -> None:
        """Begin anew from where the reading has fallen to, until it has risen by what no noise does."""
        if reads_c > self.from_c + TOLD_K:
            self._falls = False
        elif reads_c < self.from_c:
            self.from_c = self._peak_c = self._marked_c = reads_c
            self._peak_s = self._low_s = self._all_s
            self._peak_area = self._area_ks

    def leaves(self, course: Course, before: PulseResponse, gives: float, dt_s: float) -> bool:
        """Return whether the reading rises again after it has stood under full heat; sets `stood`.

        Water that boils keeps it at 100 degC, a bath at its melting point, while all around gets hotter.
        """
        still = self._on_s > _STANDS_FROM_LAGS * before.lag_s and course.slope < _HIDES * gives
        # Up and down: steps of a whole kelvin make a slope of their own.
        self._stands_s = max(self._stands_s + (dt_s if still else -dt_s), 0.0)
        self.stood = self.stood or self._stands_s > _STANDS_S
        return self.stood and course.slope > _LEAVES * gives

    def cut(self, course: Course, at_least_s: float = 0.0, rests_s: float = 0.0) -> None:
        """Take note that the heat goes off; the look takes `at_least_s`, of which it stands for `rests_s`."""
        self._late_s = max(self._late_s, at_least_s)
        self._rest_s = max(_REST_S, rests_s)
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
        ends_c = min(by_heat_c, by_slope_c) if cold else by_slope_c
        if self.from_c <= STANDS_TO_C and course.mean_c >= BOILS_C[0]:
            # Water may have hidden heat from slope and rise meanwhile; it lifts a dry oven this far.
            ends_c = max(ends_c, self.from_c + gives * self._on_s)
        return ends_c

    def foresees_c(self, course: Course, before: PulseResponse, gives: float) -> float:
        """Return where the sensor should come to if the heat went off now, by heat and by slope the lower."""
        by_heat_c = self.from_c + max(before.gives, _LEAST_SHARE * gives) * self._on_s
        return min(by_heat_c, course.mean_c + before.coast_s * max(course.slope, 0.0))

    def _say(self, course: Course) -> None:
        assert self._cut_c is not None
        to_come_k = max(course.slope, 0.0) * self._since_s if self._since_s > LONGEST_S else 0.0
        rise_k = max(self._peak_c + to_come_k - self.from_c, 0.1)
        # What the oven loses by the second without heat it lost in the pulse too: rise and lag are told
        # against that. A glowing oven lost most of a pulse, and seemed to give a fifth, ten times as late.
        # What it fell by before its rise hid as much: a late sensor's 20 K showed as 5.
        loses = max(-course.slope, 0.0)
        fell = (self._began_c - self.from_c) / max(self._low_s, 1.0)
        whole_k = rise_k + max(loses, fell) * self._peak_s
        # How late it is shows from where the rise has overtaken the fall, and from the middle of the heat: a
        # pulse may have had several doses, minutes apart.
        rose_s = self._peak_s - self._low_s
        lost_k = loses * rose_s
        late_s = self._peak_s - (self._peak_area + lost_k * rose_s / 2) / (rise_k + lost_k)
        late_s -= self._heated_s2 / max(self._on_s, 1.0)
        coast_k = max(self._peak_c - self._cut_c, 0.0)
        coast_s = max(coast_k / max(self._cut_slope, 1e-3), _LEAST_LAG_S)
        still = self._on_s > _HID_FROM_LAGS * late_s and self._cut_slope < _HIDES * whole_k / self._on_s
        if self._warm:
            # What was stored came first and passed for an early answer (a radiant tube: 31 s, 12 K over): a
            # chain of lags has answered a dose in about twice its mean lag.
            late_s = max(late_s, (self._peak_s - self._all_s + self._since_s) / 2.0)
        elif self._on_s > _LONG * late_s:
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
            settles_s=self._settles_s(rise_k, whole_k),
        )

    def _settles_s(self, rise_k: float, whole_k: float) -> float:
        at_once_k = max(rise_k - self._cut_slope * self._on_s, 0.0)
        return at_once_k * self._on_s / whole_k if whole_k - rise_k > _LOSES_MOST * whole_k else math.inf
