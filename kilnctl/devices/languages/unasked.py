"""Lines that a board sends without being asked: told from its answers, and read where they carry values.

A line may have waited in the port since the last look, so its age is known only to that. One that came before
something was written says nothing of what the writing did.
"""

import re
from collections.abc import Callable

from kilnctl.clock import Clock
from kilnctl.devices.bus import OVERHEARD

FRESH_S = 2.0  # an older line is no reading of now


class Unasked:
    """What a board has said by itself: lines that begin with `starts`, and the beginning of the next one."""

    def __init__(self, starts: str, end: bytes, clock: Clock, prompt: str = "") -> None:
        self._starts, self._end, self._clock, self._prompt = starts, end, clock, prompt
        self._part, self._newest, self._skips = b"", "", False
        self._since_s = self._looked_s = clock.real_s() - 2.0 * FRESH_S

    def take(self, data: bytes) -> int:
        """Take what came since the last look; return how many of its lines are none that the board says."""
        if len(data) >= OVERHEARD:  # what came before was not kept: the first piece is the end of a line
            data, self._part = data.partition(self._end)[2], b""
        *whole, self._part = (self._part + data).split(self._end)
        lines = [self._bare(one.decode("ascii", errors="replace").strip("\r\n")) for one in whole]
        strange = sum(self._is_answer(line) for line in lines if line)
        self._looked_s = self._clock.real_s()
        return strange

    def answer(self, read: Callable[[], str | None], give_up_s: float) -> str | None:
        """Return the next line that is an answer, None where none comes until then."""
        while self._clock.real_s() < give_up_s:
            self._looked_s = self._clock.real_s()
            if (got := read()) is None:
                return None
            begun, self._part = self._part.decode("ascii", errors="replace"), b""
            if self._is_answer(come := self._bare(begun) + got):
                return come
        return None

    def _bare(self, line: str) -> str:
        """Return a line without the prompts before it: what was thrown away may have ended with one."""
        while self._prompt and line.startswith(self._prompt):
            line = line.removeprefix(self._prompt)
        return line

    def newest(
        self, expected: re.Pattern[str], read: Callable[[], str | None], give_up_s: float
    ) -> re.Match[str] | None:
        """Return the newest line as it is expected: one that has come, if it is fresh, or the next."""
        while True:
            fresh = self._newest and self._clock.real_s() - self._since_s <= FRESH_S
            if fresh and (found := expected.fullmatch(self._newest)):
                return found
            if self._clock.real_s() >= give_up_s:
                return None
            before, self._newest = self._newest, ""
            if self.answer(read, give_up_s) is None and not self._newest:
                self._newest = before if fresh else ""
                return None

    def written(self, answered: bool) -> None:
        """Forget what was said before something was written; without an answer the next line may be older."""
        self._newest, self._skips = "", not answered

    def _is_answer(self, line: str) -> bool:
        if not line.startswith(self._starts):
            return True
        if self._skips:
            self._skips = False
        else:
            self._newest, self._since_s = line, self._looked_s
        return False
