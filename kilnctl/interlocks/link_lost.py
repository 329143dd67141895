"""The wire between this program and the oven."""

from math import sqrt
from typing import ClassVar

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import GOOD, UNHEARD, Observation, Trip
from kilnctl.stages import LINK_ANSWERS

SILENT_TICKS = 3
# The list asks that three in ten bad are found within 30 s, and that one in twenty goes on. Too many are what
# a wire with three in ten bad shows in all but one window of a thousand: 21 of 120 answers, 66 of 300. One in
# twenty bad shows that in at most one heat of six hours in two hundred, at any pace (`RESULTS.md`). Fewer
# than 120 answers cannot tell the two apart: four a second take 30 s, two 60 s, one 120 s.
WORST, SIGMAS = 0.3, 3.1
FELL = (
    "the instrument went to stand-by by itself in the heat: its time-out, or a hand at its keys. What that "
    "has dropped stays dropped: look at its line, and whether anything else writes to it"
)
FOREIGN_FRAMES = 3
FOREIGN_WINDOW_S = 60.0


class LinkLost:
    """No whole answer for more than three ticks, or too many of the answers bad in half a minute.

    Or a gap that an instrument's own time-out found too long: the next feeding would start it again.
    Ages are unscaled seconds: a wire is not faster on a simulator.
    """

    kind: ClassVar[str] = "link_lost"
    label: ClassVar[str] = "link"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._age_limit_s = SILENT_TICKS * oven.tick_s
        self._silent = 0
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
        if link.fell:
            return Trip(self.kind, FELL, seen.at_s)
        if link.bad_fraction * link.answers <= most_bad(link.answers):
            return None
        share = f"{link.bad_fraction:.0%} of the last {link.answers} replies"
        return Trip(self.kind, f"{share} are bad", seen.at_s)

    def distance(self) -> Distance:
        """Return the age of the last whole answer."""
        return Distance(self._age_s, self._age_limit_s, "s", near(self._age_s, self._age_limit_s))


def most_bad(answers: int) -> float:
    """Return how many of so many answers may be bad; of fewer than 120 as many as of 120."""
    counted = answers if answers > LINK_ANSWERS else LINK_ANSWERS
    return WORST * counted - SIGMAS * sqrt(WORST * (1.0 - WORST) * counted)


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
