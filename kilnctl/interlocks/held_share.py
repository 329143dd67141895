"""What comes of the little heat that holds a temper: a furnace for 829 degC needs a tenth of its power there.

A sensor that slides out then costs a fifth of full power, which no limit in shares of full power sees. What
is judged is the share that comes of what is asked, in one hold, against what came there before.
"""

# Means of so many seconds, judged once the hold is old enough for an estimate to have settled.
_MEAN_S, _SETTLED_S, _LEAST_DUTY = 120.0, 120.0, 0.03
# What usually comes is followed up soon and down late: less may be a fault. More than all is not asked for.
_UP_S, _DOWN_S = 300.0, 1800.0
# A supply of 85 % brings 0.72. So much less than usual, and so much of full power, for so long.
_LEFT, _LEAST, _FOR_S = 0.55, 0.08, 40.0
# One hold: the set-point stands, and was reached.
_STANDS_K, _REACHED_K = 0.5, 4.0


class HeldShare:
    """Follows one hold; `left` is the share of what usually comes there that comes now."""

    def __init__(self) -> None:
        self.left = 1.0
        self._begin(None)

    def _begin(self, setpoint_c: float | None) -> None:
        self._at_c, self._reached = setpoint_c, False
        self._held_s = 0.0
        self._usual: float | None = None
        self.pause()

    def pause(self) -> None:
        """Begin the means anew where nothing can be claimed; what is usual in this hold is kept."""
        self._span_s = self._asked = self._came = self._low_s = 0.0

    def has_fallen(
        self, setpoint_c: float | None, process_c: float, duty: float, unexplained: float | None, dt_s: float
    ) -> bool:
        """Take one tick; return whether far less than usual has come for long. degC, shares of full power."""
        if setpoint_c is None or self._at_c is None or abs(setpoint_c - self._at_c) > _STANDS_K:
            self._begin(setpoint_c)
        if setpoint_c is None or not (self._reached or process_c >= setpoint_c - _REACHED_K):
            return False
        self._reached = True
        self._held_s += dt_s
        if unexplained is None or self._held_s < _SETTLED_S:
            self.pause()
            return False
        self._span_s += dt_s
        share = dt_s / min(max(self._span_s, dt_s), _MEAN_S)
        self._asked += (duty - self._asked) * share
        self._came += (duty + unexplained - self._came) * share
        low = self._span_s >= _MEAN_S and self._asked >= _LEAST_DUTY and self._is_low(dt_s)
        self._low_s = self._low_s + dt_s if low else 0.0
        return self._low_s >= _FOR_S

    def _is_low(self, dt_s: float) -> bool:
        comes = self._came / self._asked
        before = comes if self._usual is None else self._usual
        self._usual = before + (comes - before) * min(dt_s / (_UP_S if comes > before else _DOWN_S), 1.0)
        usual = min(self._usual, 1.0)
        self.left = comes / usual if usual > 0.0 else 1.0
        return comes < _LEFT * usual and usual * self._asked - self._came > _LEAST
