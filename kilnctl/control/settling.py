"""What a reading does once the heat is cut, whatever the model says: it rises, stands still, swings."""

from collections import deque

# What the model cannot say of a settled oven is taken out slowly: in so many dead times, from so near, by so
# much at most.
_TRIM_DELAYS, _TRIM_NEAR_K, _TRIM_MOST_K = 3.0, 5.0, 4.0
# From further off too where it stands there: in a dead time it would go less than this share of the way.
_STANDS_SHARE = 0.25
# A hold that has swung so often by so much, each way, aims further ahead from then on; by so much at most.
_SWINGS, _SWING_K, _GENTLER, _GENTLEST = 3, 0.5, 1.4, 3.0
# A reading that has risen by less stands still; its slope is that of so many seconds.
_RISEN_K, _SLOPE_S = 0.5, 15.0

# A course is smoothed over so long; its slope is that of so long at least.
_SMOOTH_S, COURSE_S = 4.0, 20.0
# How late that makes the slope, at least.
COURSE_LATE_S = _SMOOTH_S + COURSE_S / 2
# A crossing counts from this far beyond the set-point: noise crosses it all the time.
_BEYOND_K = 0.1
# A swing dies away where each half is smaller than the one before by this factor.
_DIES = 0.7
# After so long without a crossing a hold does not swing: it is off its set-point, or calm.
_FORGET_S = 900.0


class Arrival:
    """How the reading rises after a cut: its slope in K/s, and for how long it has not risen."""

    def __init__(self) -> None:
        self._past: deque[tuple[float, float]] = deque()
        self._at_s, self._highest_c = 0.0, -1e9
        self.stuck_s = self.slope = 0.0

    def see(self, reads_c: float, dt_s: float) -> None:
        """Take a tick."""
        self._at_s += dt_s
        self._past.append((self._at_s, reads_c))
        while self._at_s - self._past[0][0] > _SLOPE_S:
            self._past.popleft()
        self.stuck_s += dt_s
        if reads_c > self._highest_c + _RISEN_K:
            self._highest_c, self.stuck_s = reads_c, 0.0
        since_s = self._at_s - self._past[0][0]
        self.slope = (reads_c - self._past[0][1]) / since_s if since_s > 0.0 else 0.0


class Course:
    """A reading over the last seconds: smoothed, and its slope in K/s."""

    def __init__(self) -> None:
        self._past: deque[tuple[float, float]] = deque()
        self._now_s = 0.0
        self.slope = self.mean_c = 0.0
        self._over_s = COURSE_S

    def over(self, seconds: float) -> None:
        """Take the slope over so long from now on, and over no less than at first."""
        self._over_s = max(COURSE_S, seconds)

    def see(self, reads_c: float, dt_s: float) -> None:
        """Take a tick."""
        past = self._past
        smooth_c = self.mean_c + (reads_c - self.mean_c) * dt_s / (dt_s + _SMOOTH_S) if past else reads_c
        now_s = self._now_s + dt_s
        self._now_s, self.mean_c = now_s, smooth_c
        past.append((now_s, smooth_c))
        while now_s - past[0][0] > self._over_s:
            past.popleft()
        first_s, first_c = past[0]
        since_s = now_s - first_s
        self.slope = (smooth_c - first_c) / since_s if since_s > 0.0 else 0.0


class Swing:
    """Follows a hold by its distance from the set-point.

    `half_k` is half a swing, `half_s` how long the shorter of the last two halves took, `turns` their number;
    it `dies` while each is much smaller than the last.
    """

    def __init__(self) -> None:
        self._side = 0
        self._farthest_k = self._before_k = self._since_s = self._took_s = 0.0
        self.half_k, self.half_s, self.turns, self.dies = 0.0, 0.0, 0, True

    def see(self, off_k: float, dt_s: float) -> bool:
        """Take a tick; return True in the one in which another half of a swing is over."""
        self._since_s += dt_s
        if self._since_s > _FORGET_S:
            self.half_k, self.turns, self._before_k = 0.0, 0, 0.0
        side = (off_k > _BEYOND_K) - (off_k < -_BEYOND_K)
        if side in (0, self._side):
            self._farthest_k = max(self._farthest_k, abs(off_k))
            return False
        over_k, self._farthest_k = self._farthest_k, abs(off_k)
        half_s, self._since_s = self._since_s, 0.0
        first, self._side = self._side == 0, side
        if first:
            return False
        # Both sides must have been visited: coming from far away is no swing.
        self.dies = over_k < _DIES * self._before_k
        self.half_k, self._before_k = min(over_k, self._before_k), over_k
        # A sag that is slowly made good is no half of a swing: it made a light oven late that is quick.
        self.half_s, self._took_s = min(half_s, self._took_s), half_s
        self.turns += 1
        return True


class Settling:
    """What one hold has found of its oven beside the model: where to aim, and how gently.

    `trim_k` is how far beside the set-point it aims so that its mean is the set-point, `eased` how much
    further ahead, which is gentler, because the oven answers later than the model; `half_k` half a swing;
    `worth` the heat (0..1) that a kelvin of the trim asks for, 0 until it is known.
    """

    def __init__(self) -> None:
        self.swing, self._before_k = Swing(), 0.0
        self.trim_k, self.eased = 0.0, 1.0
        self.worth, self._carried = 0.0, 1.0

    def aims(self, reaches_k: float, squares_k2: float) -> None:
        """Take where a hold aims from now on: what full heat gives there, summed, and its squares.

        What the model misses is heat, so the trim goes on asking for as much. In kelvin 1.3 K of it were
        worth a fifth when a hold eased, and an open coil sagged by 4 K.
        """
        if reaches_k <= 0.0:
            return
        worth = reaches_k / squares_k2
        kelvins = self.worth / worth if self.worth > 0.0 else 1.0
        self.trim_k, self._carried, self.worth = self.trim_k * kelvins, self._carried * kelvins, worth

    @property
    def half_k(self) -> float:
        """Return half of what the sensor really swings, in K."""
        return self.swing.half_k

    def begin_again(self, aimed: bool) -> None:
        """Keep how gently to aim, and where if it `aimed` so far, after what is no swing of the oven."""
        self.trim_k = self.trim_k if aimed else 0.0
        self.swing, self._before_k = Swing(), 0.0

    def see(self, gap_k: float, delay_s: float, duty: float, dt_s: float, lands: bool = False) -> None:
        """Take dt_s of a hold that nothing disturbs: its mean distance below the set-point, its duty.

        While it `lands` its trim waits: the filter finds what the model misses, and both together pass.
        """
        # No wind-up: the duty can follow the trim, or the trim goes back to nothing.
        answers = not lands and (0.0 < duty < 1.0 or gap_k * self.trim_k < 0.0)
        moves_k, self._before_k = abs(gap_k - self._before_k) * delay_s / dt_s, gap_k
        if answers and (abs(gap_k) < _TRIM_NEAR_K or moves_k < _STANDS_SHARE * abs(gap_k)):
            near_k = min(max(gap_k, -_TRIM_NEAR_K), _TRIM_NEAR_K)
            moved_k = self.trim_k + near_k * dt_s / (_TRIM_DELAYS * delay_s)
            # Further ahead a kelvin of it is worth less heat.
            most_k = _TRIM_MOST_K * max(self.eased, self._carried)
            self.trim_k = min(max(moved_k, -most_k), most_k)
        swing = self.swing
        if swing.see(-gap_k, dt_s) and swing.turns >= _SWINGS and swing.half_k > _SWING_K:
            self.eased = min(self.eased * _GENTLER, _GENTLEST)
