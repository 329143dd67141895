"""Which ovens may be hot: one copy of the oven file per running oven, on disk before heat.

A copy, not a path: who edits, moves or deletes his oven file during a heat must not take the way to its
off from the supervisor. A mark that is found at a start belongs to a heat that nobody has verified as off.
"""

import contextlib
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote, unquote

from kilnctl.config import home
from kilnctl.errors import ConfigError, RecordError
from kilnctl.runtime import durable

if TYPE_CHECKING:
    from kilnctl.config.oven import Oven


def folder() -> Path:
    """Return the folder of the marks."""
    path = home.home() / "running"
    path.mkdir(mode=0o700, exist_ok=True)
    return path


def mark(oven: str, text: str) -> None:
    """Keep a copy of an oven file, durable when this returns. Raises RecordError; then nothing may heat."""
    try:
        durable.write(_path(oven), text)
    except OSError as e:
        raise RecordError(f"{e.filename}: cannot be written: {e.strerror}; nothing was heated") from None


def clear(oven: str) -> None:
    """Forget an oven whose heat was read back as off. Never raises: a mark too many only costs an off."""
    with contextlib.suppress(OSError, ConfigError):
        _path(oven).unlink(missing_ok=True)


def marked() -> "list[Oven]":
    """Return the ovens that have a mark; a copy that cannot be read (a cut while writing) is left out."""
    from kilnctl.config.oven import load_oven  # late: who only asks for names does without pydantic

    found = []
    for path in _marks():
        with contextlib.suppress(ConfigError):
            found.append(load_oven(path))
    return found


def names() -> list[str]:
    """Return the names of the ovens that have a mark, readable or not."""
    return [unquote(path.stem) for path in _marks()]


def _marks() -> list[Path]:
    return sorted(folder().glob("*.toml"))


def _path(oven: str) -> Path:
    return folder() / f"{quote(oven, safe=' ')}.toml"
