"""What the commands about the record share: the user's logbook, opened for reading and for entries."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from kilnctl.clock import RealClock
from kilnctl.config import home
from kilnctl.errors import ConfigError

if TYPE_CHECKING:
    from kilnctl.logbook.entries import Typed
    from kilnctl.logbook.readers import Reader

COMPLETE, NOT_WHOLE = 0, 6


@contextmanager
def opened() -> "Iterator[Reader]":
    """Open the user's logbook for reading; a word on stderr where a newer program wrote it."""
    from kilnctl.logbook.readers import Reader

    with Reader(home.logbook_path()) as reader:
        if reader.newer:
            note("the logbook was written by a newer kilnctl: reading only")
        yield reader


def keep(*made: "Typed") -> None:
    """Write entries about ovens, parts or things into the user's logbook, dated now.

    Raises ConfigError for a part without a name.
    """
    from kilnctl.logbook import entries
    from kilnctl.logbook.writer import Logbook

    if any(not getattr(entry, "part", "named").strip() for entry in made):
        raise ConfigError("name the part or batch, as it is named in its runs")
    now_utc = RealClock().utc().timestamp()
    with Logbook(home.logbook_path()) as book:
        for entry in made:
            entries.add(book, entry, now_utc)


def note(text: str) -> None:
    """Say something beside the result, on stderr."""
    print(text, file=sys.stderr)
