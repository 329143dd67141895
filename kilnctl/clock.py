"""Time, handed in. The only module that reads or waits for a clock.

Three times exist: `now_s` is the time of the heat (scaled on a simulator), `real_s` is never scaled
(heartbeats, reply time-outs, age of data), `utc` labels and nothing else.
"""

import threading
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Protocol


class Clock(Protocol):
    """What the rest of the program may know about time."""

    def now_s(self) -> float:
        """Return the time of the heat in seconds, monotonic."""
        ...

    def real_s(self) -> float:
        """Return unscaled monotonic seconds."""
        ...

    def boot_s(self) -> float:
        """Return unscaled seconds that also count suspend; boot minus real jumps after a suspend."""
        ...

    def utc(self) -> datetime:
        """Return the wall time, for labels only."""
        ...

    def utc_s(self) -> float:
        """Return the wall time in seconds since 1970, without a date made of it first."""
        ...

    def wait_until(self, deadline_s: float, stop: threading.Event) -> bool:
        """Wait until `now_s` reaches the deadline or stop is set; return True when stop is set."""
        ...

    def pause(self, real_s: float) -> None:
        """Wait this many unscaled seconds (bus silence, drains)."""
        ...


class RealClock:
    """The machine's own clock, optionally scaled: `scale` seconds of heat pass in one real second."""

    def __init__(self, scale: float = 1.0) -> None:
        self.scale = scale
        self._start_s = time.monotonic()

    def now_s(self) -> float:
        """Return the time of the heat in seconds since this clock was made."""
        return (time.monotonic() - self._start_s) * self.scale

    def real_s(self) -> float:
        """Return unscaled monotonic seconds."""
        return time.monotonic()

    def boot_s(self) -> float:
        """Return unscaled seconds that count suspend too, where the system has such a clock."""
        return (
            time.clock_gettime(time.CLOCK_BOOTTIME) if hasattr(time, "CLOCK_BOOTTIME") else time.monotonic()
        )

    def utc(self) -> datetime:
        """Return the wall time."""
        return datetime.now(UTC)

    def utc_s(self) -> float:
        """Return the wall time in seconds since 1970."""
        return time.time()

    def wait_until(self, deadline_s: float, stop: threading.Event) -> bool:
        """Wait in real time for the scaled deadline; return True when stop is set."""
        return stop.wait(max(0.0, (deadline_s - self.now_s()) / self.scale))

    def pause(self, real_s: float) -> None:
        """Sleep."""
        time.sleep(real_s)


def machine_start() -> str:
    """Return the name that the system gave to this start of the machine, empty where it gives none."""
    try:
        return Path("/proc/sys/kernel/random/boot_id").read_text(encoding="ascii").strip()
    except OSError:
        return ""


class VirtualClock:
    """Time that moves only when somebody waits. For rehearsals and tests."""

    def __init__(self, start: datetime = datetime(2026, 1, 1, tzinfo=UTC)) -> None:
        self.scale = 1.0
        self._now_s = 0.0
        self._start_s = start.timestamp()
        self.suspended_s = 0.0

    def now_s(self) -> float:
        """Return virtual seconds since this clock was made."""
        return self._now_s

    def real_s(self) -> float:
        """Return virtual seconds: nothing is scaled in virtual time."""
        return self._now_s

    def boot_s(self) -> float:
        """Return virtual seconds plus the suspends that a test has put in."""
        return self._now_s + self.suspended_s

    def utc(self) -> datetime:
        """Return the start of this clock plus its seconds, slept ones too."""
        return datetime.fromtimestamp(self.utc_s(), UTC)

    def utc_s(self) -> float:
        """Return the same in seconds since 1970."""
        return self._start_s + (self._now_s + self.suspended_s)

    def wait_until(self, deadline_s: float, stop: threading.Event) -> bool:
        """Jump to the deadline at once; return True when stop is set."""
        self._now_s = deadline_s if deadline_s > self._now_s else self._now_s
        return stop.is_set()

    def pause(self, real_s: float) -> None:
        """Jump."""
        self._now_s += real_s

    def set_wall(self, seconds: float) -> None:
        """Set the wall clock forward (back: negative); nothing else notices."""
        self._start_s += seconds

    def advance(self, seconds: float) -> None:
        """Move time on, for tests."""
        self._now_s += seconds


def say_minute(utc_s: float) -> str:
    """Return the local day and minute of a unix time, as every list and page writes it."""
    return f"{datetime.fromtimestamp(utc_s, UTC).astimezone():%Y-%m-%d %H:%M}"


def minute_of(utc: str) -> str:
    """Return the local day and minute of an ISO time; "an unknown time" where it cannot be read."""
    try:
        return say_minute(datetime.fromisoformat(utc).timestamp())
    except ValueError:
        return "an unknown time"


def say_day(utc_s: float) -> str:
    """Return the local day of a unix time."""
    return say_minute(utc_s)[:10]
