"""An instrument that regulates by itself towards a set-point. Invented settings, deliberately ordinary."""

BAND_K = 25.0
INTEGRAL_S = 400.0


class Follower:
    """Proportional band and slow integral over the count that the instrument itself sees."""

    __slots__ = ("_integral", "goal_c")

    def __init__(self) -> None:
        self.goal_c = 0.0
        self._integral = 0.0

    def park(self) -> None:
        """Forget the goal: no heat."""
        self.goal_c = self._integral = 0.0

    def duty(self, seen_c: float, dt_s: float) -> float:
        """Return the share of heat (0..1) for the next dt_s."""
        error_k = self.goal_c - seen_c
        wish = error_k / BAND_K + self._integral
        if 0.0 < wish < 1.0:
            self._integral += error_k / BAND_K * dt_s / INTEGRAL_S
        return min(1.0, max(0.0, wish))
