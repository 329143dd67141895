"""What the supervisor last had to say: one small file, for the `kilnctl run` whose controller has died."""

import contextlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from datetime import datetime

from kilnctl.config import home
from kilnctl.errors import ConfigError
from kilnctl.marks import mark_file

NOT_READ = "NOT read back as off"


@dataclass(frozen=True, slots=True)
class LastWords:
    """Why the controller ended without its own goodbye, and which ovens were read back as off.

    `marks` says of which running mark of each oven it speaks: words of an earlier heat are not of this one.
    `watched` are ovens that nothing here was heating.
    """

    utc: str
    why: str
    off: dict[str, bool] = field(default_factory=dict)
    marks: dict[str, str] = field(default_factory=dict)
    watched: list[str] = field(default_factory=list)

    def line(self) -> str:
        """Return one line for a person."""
        bad = [name for name, verified in self.off.items() if not verified]
        if bad:
            return f"{self.why}; {NOT_READ}: {', '.join(bad)}. Cut the power by hand"
        if self.watched and not self.off:
            return f"{self.why}; nothing was heating, only watched: {', '.join(self.watched)}"
        return f"{self.why}; heat is off, read back: {', '.join(self.off) or 'no oven was running'}"


def write(last_words: LastWords) -> None:
    """Keep them. Never raises: the disk may be what ended the controller."""
    with contextlib.suppress(OSError, ConfigError):
        mark_file.put(home.home() / "last-words.json", json.dumps(asdict(last_words)))


def newer(since: datetime) -> LastWords | None:
    """Return words that are newer than `since`: the supervisor speaks when it has cut the heat itself."""
    words = read()
    return words if words is not None and datetime.fromisoformat(words.utc) >= since else None


def of(marks: Mapping[str, str]) -> LastWords | None:
    """Return the last words where they speak of one of these marks (oven -> its id)."""
    words = read()
    if words is None or not any(id_ and words.marks.get(oven) == id_ for oven, id_ in marks.items()):
        return None
    return words


def read() -> LastWords | None:
    """Return the last words, or None where there are none."""
    try:
        words = LastWords(**json.loads(mark_file.text(home.home() / "last-words.json")))
        datetime.fromisoformat(words.utc)
    except (OSError, ValueError, TypeError, RecursionError):
        return None
    sound = isinstance(words.why, str) and isinstance(words.off, dict) and isinstance(words.marks, dict)
    sound = sound and isinstance(words.watched, list)
    return words if sound else None
