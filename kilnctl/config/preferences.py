"""How a person wants temperatures and sizes shown: `preferences.toml` in the kilnctl folder.

Files and commands take both scales always, each with its unit; the record stays in degC.
"""

from collections.abc import Callable
from functools import partial
from typing import get_args

from kilnctl.config.home import preferences_path
from kilnctl.errors import ConfigError
from kilnctl.shown_units import Shown, in_units

_SAY = 'write one line into it: units = "F", "C" or "both"'


def units_shown() -> Shown:
    """Return the units that the person chose, both without a file. Raises ConfigError for another content."""
    path = preferences_path()
    if not path.is_file():
        return "both"
    import tomllib  # where nobody chose, no command waits for it

    try:
        found = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        raise ConfigError(f"{path}: cannot be read; {_SAY}") from None
    units: Shown | None = next((u for u in get_args(Shown) if found == {"units": u}), None)
    if units is None:
        raise ConfigError(f"{path}: {_SAY}")
    return units


def as_chosen() -> Callable[[str], str]:
    """Return what turns a text for people into the units that were chosen. Raises ConfigError."""
    return partial(in_units, units=units_shown())
