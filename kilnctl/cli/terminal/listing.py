"""Lists of the files that are known here: recipe list, oven list."""

from collections.abc import Callable
from pathlib import Path

from kilnctl.cli.terminal.tell import tell
from kilnctl.config import home


def list_known(kind: str, line: Callable[[Path], str], then: str) -> int:
    """Print every known file of a kind with a line about it, and what can be done with one; return 0."""
    found = home.known(kind)
    width = max(map(len, found))
    for name, path in found.items():
        tell(f"{name:<{width}}  {line(path)}")
    tell(f"\nYour own are in {home.home() / kind}. {then}")
    return 0
