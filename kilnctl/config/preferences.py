"""How a person wants temperatures and sizes shown: `preferences.toml` in the kilnctl folder.

Files and commands take both scales always, each with its unit; the record stays in degC.
"""

from collections.abc import Callable
from functools import cache, partial
from pathlib import Path

from kilnctl.config.home import preferences_path
from kilnctl.errors import ConfigError
from kilnctl.shown_units import Shown, in_units
from kilnctl.tomlfile import Strict, load


class Preferences(Strict):
    """What one person prefers; without the file both scales are shown."""

    units: Shown = "both"


def preferences() -> Preferences:
    """Return what the person chose. Raises ConfigError for a file that cannot be understood."""
    path = preferences_path()
    return _read(path, path.stat().st_mtime_ns) if path.is_file() else Preferences()


@cache
def _read(path: Path, _changed_ns: int) -> Preferences:
    return load(path, Preferences, ConfigError)


def as_chosen() -> Callable[[str], str]:
    """Return what turns a text for people into the units that were chosen. Raises ConfigError."""
    return partial(in_units, units=preferences().units)
