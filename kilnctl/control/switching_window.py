"""How long a contactor's switching window may be: as long as the ripple allows, so that it closes seldom.

The closures are counted too, because a duty that moves closes more often than the window says.
"""

import math
from collections import deque

from kilnctl.control.settling import Swing
from kilnctl.model.coast import Outlook
from kilnctl.model.oven_model import OvenState, advance
from kilnctl.model.ripple import swing_k

# Windows in s, and half the ripple at the sensor in K for which each is bearable in a soak. The last closes a
# contactor 60 times an hour; for that more ripple is borne, and where it is too long by that, less is tried.
_LONG_S, _LITTLE_K, _SPARES_S = 90.0, 0.35, 62.0
# A sensor that is late swings by the square of a window, and more: a window by the root of what is borne.
_BY_SQUARE = 0.5
# However often it closes, no more ripple than this.
_WORST_K = 0.7
# Closures in ten minutes beyond which the window is lengthened further, and below which this is taken back.
_MOST, _FEWEST = 9, 6
_COUNT_S = 600.0
_LONGER, _SHORTER, _LONGEST_S = 1.08, 0.97, 120.0
# A window that spares less than a sixth of the closures is not worth what it swings.
_WORTH = 1.2
# A window that really swings by more is shortened by this.
_SHRUNK = 1.4
# A hold that swings by itself has been calm for so long before its window is a long one again.
_CALM_S = 480.0
# A hold is settled, its duty known and its window looked at anew, after this.
_MEAN_S = 120.0
_FORGET_S = 300.0
# Halves of a whole swing, the first of which may have begun in another window.
_WHOLE = 3


def longest_window_s(outlook: Outlook, duty: float, window_s: float) -> float:
    """Return the longest window whose ripple is bearable; at least `window_s`, the oven file's own."""
    if not 0.01 < duty < 0.99:
        return window_s
    if window_s < _SPARES_S:
        swings_k = ripple_k(outlook, duty, _SPARES_S)
        if swings_k > _WORST_K:
            shorter_s = _SPARES_S * (_WORST_K / swings_k) ** _BY_SQUARE
            bears = shorter_s > window_s and ripple_k(outlook, duty, shorter_s) <= _WORST_K
            return shorter_s if bears else window_s
        if swings_k > _LITTLE_K:
            return _SPARES_S
    long = window_s < _LONG_S and ripple_k(outlook, duty, _LONG_S) <= _LITTLE_K
    return _LONG_S if long else max(window_s, _SPARES_S)


def ripple_k(outlook: Outlook, duty: float, window_s: float) -> float:
    """Return half of what the sensor swings when the duty is given in one pulse a window, by the model."""
    return swing_k(outlook.model, outlook.state, outlook.ambient_c, duty, window_s, 3)


class Ripple:
    """What the relay's pulses do to the oven beside the even duty that was asked, by the model.

    Taken out of the state from which a hold aims: else the hold answers its own relay, switches on every
    swing and so more often the longer the window is.
    """

    def __init__(self, state: OvenState) -> None:
        self._even = self._pulsed = state

    def step(self, outlook: Outlook, duty: float, heat: float, dt_s: float) -> OvenState:
        """Take what was asked and what flowed in the last dt_s; return the outlook's state without ripple."""
        model, ambient_c, unknown = outlook.model, outlook.ambient_c, outlook.unknown
        even = advance(model, self._even, duty, ambient_c, dt_s, unknown)
        self._pulsed = advance(model, self._pulsed, heat, ambient_c, dt_s, unknown)
        # What the relay owed at the start is no ripple: on a light oven a second of it is a kelvin for ever.
        near = dt_s / _FORGET_S
        pulsed = self._pulsed.nodes
        self._even = OvenState(*(a + (b - a) * near for a, b in zip(even.nodes, pulsed, strict=True)))
        pairs = zip(outlook.state.nodes, self._even.nodes, pulsed, strict=True)
        return OvenState(*(now + a - b for now, a, b in pairs))


class Stretch:
    """The window of a contactor in one settled hold."""

    def __init__(self, window_s: float, count_k: float = 0.0) -> None:
        """`count_k`: the smallest step of the sensor's module; half of it is no swing."""
        self._own_s, self._longer, self._count_k = window_s, 1.0, count_k
        self._held_s, self._look_s = 0.0, _MEAN_S
        self._mean_duty, self._on = 0.0, True
        self._closed: deque[float] = deque()
        self._bears_s, self._swung_s = _LONGEST_S, -_CALM_S
        self.window_s: float | None = None
        # How many halves had swung when the window was last another one, and which it was.
        self._since, self._before_s = 0, window_s

    def step(
        self,
        outlook: Outlook,
        duty: float,
        heat: float,
        dt_s: float,
        swing: Swing,
    ) -> None:
        """Take the duty asked and the heat that flowed since the last tick; set `window_s`.

        `swing` is what the sensor really swings: a model may know too little of it, where the sensor sees the
        element. What swings slower than one pulse a window is the hold's own: it gets no longer window until
        it has been calm for a while, and is no verdict on that. Nor are halves that began in another window.
        """
        if dt_s <= 0.0:
            return
        self._held_s += dt_s
        self._mean_duty += (duty - self._mean_duty) * min(1.0, dt_s / min(self._held_s, _MEAN_S))
        if heat > 0.0 and not self._on:
            self._closed.append(self._held_s)
        self._on = heat > 0.0
        if self._held_s >= self._look_s:
            self._look_s += _MEAN_S
            self._count()
            allowed_s = longest_window_s(outlook, self._mean_duty, self._own_s)
            while self._longer > 1.0 and not self._bearable(outlook, allowed_s * self._longer):
                self._longer /= _LONGER
            self._judge(swing)
            calm = self._held_s - self._swung_s >= _CALM_S
            bears_s = min(self._bears_s, max(self._seen_bears_s(swing), self.window_s or self._own_s))
            wanted_s = min(allowed_s * max(self._longer, 1.0), bears_s) if calm else self._own_s
            wanted_s = wanted_s if wanted_s > _WORTH * self._own_s else self._own_s
            if wanted_s != self.window_s:
                self._since, self._before_s = swing.turns, self.window_s or self._own_s
                self.window_s = wanted_s

    def _judge(self, swing: Swing) -> None:
        """Take a verdict on the window that stands now, from a whole swing in it, or on the hold itself."""
        window_s, self._since = self.window_s, min(self._since, swing.turns)
        if window_s is None:
            return
        if swing.half_k > _WORST_K and swing.half_s > max(window_s, self._before_s):
            self._swung_s = self._held_s
        elif swing.turns >= self._since + _WHOLE and swing.half_k > _WORST_K:
            self._bears_s = window_s / _SHRUNK
        elif swing.turns >= self._since + _WHOLE and swing.half_k < _WORST_K / 2.0:
            self._bears_s = min(self._bears_s * _LONGER, _LONGEST_S)

    def _seen_bears_s(self, swing: Swing) -> float:
        """Return the longest window by what the pulses of this one really swing, whatever the model says.

        None is lengthened beyond it: a light oven read by a late module swung by 0.5 K in its own 30 s, and
        by 2.4 in the 62 that it was given.
        """
        window_s, seen_k = self.window_s or self._own_s, swing.half_k - self._count_k / 2.0
        if seen_k <= 0.0 or swing.half_s > window_s or swing.turns < self._since + _WHOLE:
            return _LONGEST_S
        return window_s * math.sqrt(_WORST_K / seen_k)

    def _bearable(self, outlook: Outlook, window_s: float) -> bool:
        return (
            self._own_s < window_s <= _LONGEST_S and ripple_k(outlook, self._mean_duty, window_s) <= _WORST_K
        )

    def _count(self) -> None:
        while self._closed and self._closed[0] < self._held_s - _COUNT_S:
            self._closed.popleft()
        if len(self._closed) > _MOST and self._held_s > _COUNT_S:
            self._longer *= _LONGER
        elif len(self._closed) < _FEWEST:
            self._longer = max(self._longer * _SHORTER, 1.0)
