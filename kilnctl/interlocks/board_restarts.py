"""A board that starts anew in the middle of a heat, or drops its output by itself, as in a start."""

from collections import deque
from typing import ClassVar

from kilnctl.config.abilities import DEAD_MAN_S
from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, hands_may_be_in, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import Alarm, Observation, Reaction, Scan, Trip

LIMIT = 3
WITHIN_S = 600.0
SAME_S = 10.0  # a start that is told and the drop that it makes come in neighbouring looks
CLOCK_SHARE = 1.1  # a board's clock is not ours
READ_LATE = 0.5  # of a tick: how much later in its tick the output may be read than it was written


class BoardRestarts:
    """Once is told: the heat was off meanwhile, and off went out first. Three times in ten minutes stops.

    A brown-out when the contactor closes, a bad supply or a watchdog that bites looks like this (common
    practice, no single source). Boards that say when they start are seen by that; any other by an output that
    was read on, was asked to stay on, and reads off sooner than its own hold or dead-man can have ended it.
    """

    kind: ClassVar[str] = "board_restarts"
    label: ClassVar[str] = "board restarts"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        says = any(d.kind == "line" or getattr(d, "banner", "") for d in oven.device.values())
        self._drops = Drops(oven)
        self.blind = not says and self._drops.blind
        self._known: int | None = None
        self._started_s = self._dropped_s = float("-inf")
        self._at_s: deque[float] = deque()

    def check(self, seen: Observation) -> Trip | Alarm | None:
        """Count the starts and drops of the last ten minutes."""
        now_s = seen.at_s
        starts = 0 if self._known is None else max(seen.scan.link.restarts - self._known, 0)
        self._known = seen.scan.link.restarts
        dropped = self._drops.dropped(seen)
        if starts:
            self._started_s = now_s
            self._at_s.extend([now_s] * (starts - (now_s - self._dropped_s <= SAME_S)))
        if dropped and now_s - self._started_s > SAME_S:
            self._dropped_s = now_s
            self._at_s.append(now_s)
        while self._at_s and self._at_s[0] < now_s - WITHIN_S:
            self._at_s.popleft()
        if not self._at_s:
            return None
        by_itself = self._dropped_s >= self._at_s[0]
        if len(self._at_s) < LIMIT:
            said = "the board dropped its output by itself; it may have restarted"
            return Alarm(self.kind, said if by_itself else "a board has restarted", now_s)
        what = (
            "a board has dropped its output by itself or restarted" if by_itself else "a board has restarted"
        )
        reason = f"{what} {len(self._at_s)} times in {WITHIN_S / 60:.0f} min"
        return Trip(self.kind, f"{reason}; look at its supply", now_s, Reaction.STOP)

    def distance(self) -> Distance:
        """Return starts and drops in the last ten minutes."""
        if self.blind:
            return Distance(None, None, "starts", 0.0, "no board here shows its restarts")
        return Distance(len(self._at_s), LIMIT, "starts", near(len(self._at_s), LIMIT))


class Drops:
    """Sees an output go by itself. A door, a limit or a hand at the isolator may take it away too."""

    def __init__(self, oven: Oven) -> None:
        heater = oven.output.heater
        # Behind one that makes duty or temperature itself a contact comes and goes as the board switches.
        self._sees_heater = heater.kind in ("switch", "pulse") or heater.back is None
        self.blind = not self._sees_heater and oven.output.contactor is None
        self._holds_s = _holds_s(oven)
        self._slack_s = READ_LATE * oven.tick_s
        self._on_s: float | None = None
        self._before_s: float | None = None
        self._greetings = 0

    def dropped(self, seen: Observation) -> bool:
        """Return whether what the last look saw on is off now, though it was to stay on, and could."""
        scan, on_s, before_s = seen.scan, self._on_s, self._before_s
        off_by_us, self._greetings = scan.link.greetings != self._greetings, scan.link.greetings
        on = self._on(scan)
        self._before_s, self._on_s = on_s, seen.at_s if on else None
        if on is not False or on_s is None or not seen.heat_asked or off_by_us:
            return False
        if scan.door_open or scan.limit_open or hands_may_be_in(seen):
            return False
        # Where words get lost the last write may have been one of them.
        written_s = on_s if scan.link.bad_fraction == 0.0 or before_s is None else before_s
        return CLOCK_SHARE * (seen.at_s - written_s) + self._slack_s < self._holds_s

    def _on(self, scan: Scan) -> bool | None:
        heater_on = scan.heat_on if self._sees_heater else True
        return heater_on if heater_on is not True else scan.contactor_on is not False


def _holds_s(oven: Oven) -> float:
    """Return how long the output stays on without a word, at least: two ticks where the file does not say."""
    heater, dead_man = oven.output.heater, oven.dead_man
    said = [heater.holds_s, None if dead_man is None else dead_man.drops_after_s]
    if known := [held_s for held_s in said if held_s is not None]:
        return min(known)
    return min(2.0 * oven.tick_s, DEAD_MAN_S) if oven.has_dead_man else float("inf")
