"""One question to a person, answered once: what was shown for this oven and this job, and not long ago."""

import secrets
from dataclasses import dataclass

from kilnctl.clock import Clock

FRESH_S = 600.0
MOST = 64  # questions that nobody answers are forgotten, the oldest first


@dataclass(frozen=True, slots=True)
class _Asked:
    job: str
    at_s: float


class Challenges:
    """The open questions of one controller. `job` is a key of oven and job; a sleep of the machine counts."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._open: dict[str, _Asked] = {}

    def ask(self, job: str) -> str:
        """Return a new challenge for a job."""
        while len(self._open) >= MOST:
            del self._open[next(iter(self._open))]
        challenge = secrets.token_hex(16)
        self._open[challenge] = _Asked(job, self._clock.boot_s())
        return challenge

    def why_not(self, challenge: str, job: str) -> str:
        """Say why an answer to a challenge does not count for a job; empty where it does."""
        if not challenge:
            return "nobody was asked"
        asked = self._open.get(challenge)
        if asked is None:
            return "the question is not known here, or was answered before"
        if asked.job != job:
            return "the question was about another oven or another job"
        if self._clock.boot_s() - asked.at_s > FRESH_S:
            return f"the question is older than {FRESH_S / 60.0:.0f} min"
        return ""

    def use(self, challenge: str) -> None:
        """Take a challenge away: it is answered."""
        self._open.pop(challenge, None)

    @property
    def waiting(self) -> bool:
        """True while a question is open that may still be answered."""
        now_s = self._clock.boot_s()
        return any(now_s - asked.at_s <= FRESH_S for asked in self._open.values())
