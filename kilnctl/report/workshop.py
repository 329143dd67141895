"""Whose workshop the pages come from: a line and a mark, from workshop.toml in the user's folder."""

from dataclasses import dataclass
from pathlib import Path

from kilnctl.config.home import home
from kilnctl.errors import ConfigError
from kilnctl.tomlfile import Strict, load

FILE = "workshop.toml"
PNG = b"\x89PNG\r\n\x1a\n"  # PNG specification, 5.2
LARGEST_MARK = 2_000_000


class WorkshopFile(Strict):
    """What workshop.toml says: `name`, `line` (address, telephone) and `mark`, a PNG beside the file."""

    name: str
    line: str = ""
    mark: str = ""


@dataclass(frozen=True, slots=True)
class Workshop:
    """The workshop as it stands on a page: one line, and the mark as PNG bytes, if any."""

    words: str = ""
    mark: bytes = b""


def workshop() -> Workshop:
    """Return the user's workshop, empty without a file. Raises ConfigError for a wrong file or mark."""
    path = home() / FILE
    if not path.exists():
        return Workshop()
    said = load(path, WorkshopFile, ConfigError)
    words = " · ".join(word for word in (said.name, said.line) if word)
    return Workshop(words, _mark(path.parent / said.mark) if said.mark else b"")


def _mark(path: Path) -> bytes:
    try:
        data = path.read_bytes()
    except OSError as e:
        raise ConfigError(f"{path}: the workshop's mark cannot be read: {e.strerror}") from None
    if not data.startswith(PNG) or len(data) > LARGEST_MARK:
        raise ConfigError(f"{path}: the workshop's mark must be a PNG picture of at most 2 MB")
    return data
