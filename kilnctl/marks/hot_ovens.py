"""Which ovens may still be hot: a sign on the disk from before the heat until the oven has been seen cold.

So it outlives controller, computer and power. A sign too many only costs a look at a cold oven.
"""

import contextlib
import json
from dataclasses import asdict, dataclass
from pathlib import Path
from urllib.parse import quote, unquote

from kilnctl.config import home
from kilnctl.errors import ConfigError
from kilnctl.marks import mark_file


@dataclass(frozen=True, slots=True)
class Hot:
    """An oven that nobody has seen cold. `at_c` is the last good reading of its watch, None before one.

    `utc` is the ISO time of the sign, empty where it cannot be read; `run` the heat that made it hot.
    `of_record` says that `at_c` is from the end of that heat's record: nobody has watched it since.
    """

    oven: str
    utc: str = ""
    run: int | None = None
    at_c: float | None = None
    of_record: bool = False


def sign(hot: Hot) -> None:
    """Keep the sign. Never raises: it must not keep anybody from a heat, nor from its end."""
    with contextlib.suppress(OSError, ConfigError):
        mark_file.put(_path(hot.oven), json.dumps(asdict(hot)))


def clear(oven: str) -> None:
    """Take the sign away: somebody has seen the oven cold. Never raises."""
    with contextlib.suppress(OSError, ConfigError):
        _path(oven).unlink(missing_ok=True)


def signed() -> list[Hot]:
    """Return the ovens that may be hot; a sign that cannot be read is one all the same."""
    return [_read(path) for path in sorted(_folder().glob("*.json"))]


def _read(path: Path) -> Hot:
    oven = unquote(path.stem)
    try:
        said = Hot(**json.loads(mark_file.text(path)))
    except (OSError, ValueError, TypeError, RecursionError):
        return Hot(oven)
    sound = isinstance(said.utc, str) and isinstance(said.run, int | None)
    sound = sound and said.oven == oven and isinstance(said.at_c, float | int | None)
    return said if sound else Hot(oven)


def _folder() -> Path:
    return home.own_folder("hot")


def _path(oven: str) -> Path:
    return _folder() / f"{quote(oven, safe=' ')}.json"
