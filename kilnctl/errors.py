"""Every error that kilnctl raises on purpose.

    KilnctlError
      ConfigError            shop or oven file; names file, line and key
      ProfileError           profile, recipe or steel; names file and segment number
      UnitError              a value that cannot be read as its quantity
      RunRefused             preflight said no: caution, limit, port busy
        Doubtful             a person may confirm it; without one it stays refused
      DeviceError            names device, port, address, operation
        NoReply              nothing came back in time
        BadReply             damaged, short, from another device, or absurd
        DeviceRefused        the device answered with an exception code
          DeviceBusy           it is there, and has no time yet
        PortLost             the port is gone or cannot be opened
      RecordError            could not make a line durable
      LinkError              the socket between controller and screens
        NoController         nobody listens there

Trip, Alarm, hold and off are not exceptions: they are expected outcomes and are recorded.
"""

import unicodedata
from collections.abc import Mapping


class KilnctlError(Exception):
    """One clear line that says what is wrong and what to do."""


class UnitError(KilnctlError):
    """A value that cannot be read as its quantity; says how to write it."""


class ConfigError(KilnctlError):
    """A shop or oven file is wrong; names file, line and key."""


class ProfileError(KilnctlError):
    """A profile, recipe or steel card is wrong; names file and segment."""


class RunRefused(KilnctlError):
    """Preflight said no. Nothing was heated."""


class Doubtful(RunRefused):
    """Refused as long as nobody confirms: `doubts` maps what is doubtful to the question about it."""

    def __init__(self, line: str, doubts: Mapping[str, str] | None = None) -> None:
        super().__init__(line)
        self.doubts = dict(doubts or {})


class DeviceError(KilnctlError):
    """A device could not be read or written."""


class NoReply(DeviceError):
    """Nothing came back in time."""


class BadReply(DeviceError):
    """The reply was damaged, short, from another device, or absurd."""


class DeviceRefused(DeviceError):
    """The device answered with an exception code."""


class DeviceBusy(DeviceRefused):
    """The device is there and says that it has no time yet; asked again it may answer."""


class PortLost(DeviceError):
    """The port is gone, busy, or cannot be opened."""


class RecordError(KilnctlError):
    """A line could not be made durable."""


class LinkError(KilnctlError):
    """The socket between controller and screens does not work, or carried something unreadable."""


class NoController(LinkError):
    """No controller is running, or it has gone."""


def one_line(text: str) -> str:
    """Return a text without what moves a cursor or turns a line round: control and invisible characters."""
    return "".join(c if c.isprintable() or unicodedata.category(c) == "Zs" else "?" for c in text)


def sentence(error: KilnctlError) -> str:
    """Return the words of an error as a sentence, where others follow or stand beside it."""
    return str(error) if str(error).endswith((".", "?")) else f"{error}."


def cut_short(line: str, longest: int) -> str:
    """Return one line of at most `longest` characters; what is cut out of a longer one is its middle."""
    line, half = one_line(line), longest // 2
    return line if len(line) <= longest else f"{line[: half - 1]}…{line[-half:]}"
