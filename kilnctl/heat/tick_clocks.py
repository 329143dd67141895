"""The clocks of a run, read tick by tick: heat time, real time, the boot's clock and the wall's."""

from kilnctl.clock import Clock
from kilnctl.values import value


@value
class TickTime:
    """When a tick is, and how long after the one before; `real_dt_s` is never scaled. Seconds."""

    at_s: float
    dt_s: float
    real_dt_s: float
    elapsed_s: float


class TickClocks:
    """Reads the clocks of one run. `started_s` is its begin on the clock of the heat."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self.start()

    def start(self) -> None:
        """Let the run's time begin now."""
        clock = self._clock
        self.started_s = self._at_s = clock.now_s()
        self._real_s = clock.real_s()
        self._boot_gap_s = clock.boot_s() - self._real_s
        # How far the wall clock runs ahead of the boot's.
        self._wall_gap_s = clock.utc_s() - clock.boot_s()

    def tick(self) -> TickTime:
        """Return the time of a tick that begins now."""
        now_s, real_s = self._clock.now_s(), self._clock.real_s()
        dt_s, self._at_s = now_s - self._at_s, now_s
        real_dt_s, self._real_s = real_s - self._real_s, real_s
        return TickTime(now_s, dt_s, real_dt_s, now_s - self.started_s)

    def wall(self) -> tuple[float, float, float]:
        """Return the wall time (s since 1970), its step since the last tick and the seconds slept so far.

        A sleep of the machine moves wall and boot alike: only a clock that somebody sets makes a step.
        """
        boot_s, utc_s = self._clock.boot_s(), self._clock.utc_s()
        before_s, self._wall_gap_s = self._wall_gap_s, utc_s - boot_s
        return utc_s, self._wall_gap_s - before_s, boot_s - self._real_s - self._boot_gap_s
