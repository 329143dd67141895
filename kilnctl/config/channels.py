"""Where messages go: `messages.toml` in the kilnctl folder. They belong to the person, not to an oven."""

import stat
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from kilnctl.config import home
from kilnctl.errors import ConfigError
from kilnctl.quantities import DurationS, between
from kilnctl.tomlfile import Strict, load

Told = Literal["ready", "late", "trip", "end", "test", "begin"]
ALWAYS: tuple[Told, ...] = ("test", "begin")


class Channel(Strict):
    """One way to a person. `url` is an address as the message library writes it; it may hold a key."""

    name: Annotated[str, Field(min_length=1, max_length=40)]
    url: Annotated[str, Field(min_length=4, max_length=500)]
    tells: tuple[Told, ...] = ("ready", "late", "trip", "end")

    def wants(self, told: Told) -> bool:
        """Return whether this kind of news goes here; a test always does."""
        return told in self.tells or told in ALWAYS


class Alive(Strict):
    """An address that is called every so often while an oven heats; a service there alarms when it is not."""

    url: Annotated[str, Field(pattern="^https?://", max_length=500)]
    every_s: Annotated[DurationS, between(10, 600, "10 s and 10 min")] = Field(default=30.0, alias="every")


class Channels(Strict):
    """The whole file."""

    channel: tuple[Channel, ...] = ()
    alive: Alive | None = None


def path() -> Path:
    """Return where the file lies."""
    return home.home() / "messages.toml"


def load_messages() -> Channels:
    """Return the whole file, empty where there is none.

    Raises ConfigError for a file that is wrong, or that others on this computer may read: it holds keys.
    """
    file = path()
    if not file.exists():
        return Channels()
    if file.stat().st_mode & (stat.S_IRWXG | stat.S_IRWXO):
        raise ConfigError(f"{file}: others may read it, and it holds keys: chmod 600 {file}")
    return load(file, Channels, ConfigError)


def load_channels() -> tuple[Channel, ...]:
    """Return the channels. Raises ConfigError as `load_messages` does."""
    return load_messages().channel
