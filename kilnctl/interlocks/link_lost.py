"""The wire between this program and the oven."""

from typing import ClassVar

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import GOOD, UNHEARD, Observation, Trip

SILENT_TICKS = 3
# The list asks for off above 20 % in 30 s. With three in ten bad one window in a hundred shows less than
# that, one in ten thousand less than 15 %; with one in twenty bad 15 % is seen once in 50 to 80 hours (four
# exchanges a second; of an instrument that is asked twice a second once in two hours).
BAD_SHARE = 0.15
WINDOW_S = 30.0
FOREIGN_FRAMES = 3
FOREIGN_WINDOW_S = 60.0


class LinkLost:
    """No whole answer for more than three ticks, or more than 15 % of the answers bad in half a minute.

    Ages are unscaled seconds: a wire is not faster on a simulator.
    """

    kind: ClassVar[str] = "link_lost"
    label: ClassVar[str] = "link"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._age_limit_s = SILENT_TICKS * oven.tick_s
        self._silent = 0
        self._watched_s = 0.0
        self._age_s = 0.0

    def check(self, seen: Observation) -> Trip | None:
        """Judge age, silence in a row, and the share of bad answers."""
        link = seen.scan.link
        quality = seen.scan.process.quality
        mute = quality is not GOOD and quality in UNHEARD
        self._silent = self._silent + 1 if mute else 0
        self._age_s = link.age_s
        if link.age_s > self._age_limit_s or self._silent > SILENT_TICKS:
            return Trip(self.kind, f"no valid reply for {link.age_s:.1f} s ({self._silent} ticks)", seen.at_s)
        if link.bad_fraction <= BAD_SHARE:
            self._watched_s += seen.real_dt_s
            return None
        # A share of a handful of answers says nothing: a whole window first.
        self._watched_s += seen.real_dt_s
        if self._watched_s < WINDOW_S:
            return None
        return Trip(self.kind, f"{link.bad_fraction:.0%} of the replies in {WINDOW_S:g} s are bad", seen.at_s)

    def distance(self) -> Distance:
        """Return the age of the last whole answer."""
        return Distance(self._age_s, self._age_limit_s, "s", near(self._age_s, self._age_limit_s))


class ForeignTalk:
    """Somebody else talks on the bus: a second controller, or two devices with one address."""

    kind: ClassVar[str] = "foreign_talk"
    label: ClassVar[str] = "foreign messages"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._base: int | None = None
        self._since_s = 0.0
        self._new = 0

    def check(self, seen: Observation) -> Trip | None:
        """Count frames that nothing asked for, minute by minute."""
        foreign = seen.scan.link.foreign
        if self._base is None or foreign < self._base or self._since_s > FOREIGN_WINDOW_S:
            self._base, self._since_s = foreign, 0.0
        self._since_s += seen.real_dt_s
        self._new = foreign - self._base
        if self._new < FOREIGN_FRAMES:
            return None
        return Trip(
            self.kind, f"{self._new} frames in {self._since_s:.0f} s that nothing asked for", seen.at_s
        )

    def distance(self) -> Distance:
        """Return strange frames within a minute."""
        return Distance(self._new, FOREIGN_FRAMES, "frames", near(self._new, FOREIGN_FRAMES))
