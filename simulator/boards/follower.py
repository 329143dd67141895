"""An instrument that regulates by itself towards a set-point. Invented settings, deliberately ordinary."""

BAND_K = 25.0
INTEGRAL_S = 400.0


class Follower:
    """Proportional band and slow integral over the count that the instrument itself sees."""

    __slots__ = ("_band_k", "_integral", "_integral_s", "goal_c")

    def __init__(self, band_k: float = BAND_K, integral_s: float = INTEGRAL_S) -> None:
        self._band_k, self._integral_s = band_k, integral_s
        self.goal_c = 0.0
        self._integral = 0.0

    def park(self) -> None:
        """Forget the goal: no heat."""
        self.goal_c = self._integral = 0.0

    def duty(self, seen_c: float, dt_s: float) -> float:
        """Return the share of heat (0..1) for the next dt_s."""
        error_k = self.goal_c - seen_c
        wish = error_k / self._band_k + self._integral
        if 0.0 < wish < 1.0:
            self._integral += error_k / self._band_k * dt_s / self._integral_s
        return min(1.0, max(0.0, wish))
