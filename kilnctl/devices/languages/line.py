"""A line protocol for a maker's own firmware: the master's side of it.

Its specification, with whole lines to test a firmware against, is the page guide/connect/line-board.md;
tests hold this file, the simulator and the firmware beside it to the same page. A line carries a sequence
number and a CRC, so a late or damaged reply is never taken for another. The plain-text devices of
devices/languages/text.py are for boards whose language is already fixed.
"""

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from kilnctl.clock import Clock
from kilnctl.devices.bus import Bus
from kilnctl.devices.checksums import crc16
from kilnctl.devices.device import Raw, WiredDevice
from kilnctl.devices.languages.line_io import Banner, read_line
from kilnctl.devices.port import Line
from kilnctl.devices.signals import OPEN_RAW
from kilnctl.errors import BadReply, DeviceError, DeviceRefused, NoReply

if TYPE_CHECKING:
    from kilnctl.config.device_keys import LineDevice
    from kilnctl.config.places import Place
    from kilnctl.config.wiring import Written

LONGEST = 250  # characters, line feed and carriage return not counted
_REPLY = re.compile(r"<([0-9A-F]{2}) (.*)\*([0-9A-F]{4})")
_NUMBER = re.compile(r"[+-]?\d{1,9}(\.\d{1,6})?")


class LineBoard(WiredDevice):
    """A board that speaks the protocol above."""

    def __init__(self, name: str, device: "LineDevice", bus: Bus, clock: Clock) -> None:
        super().__init__(f"{name} (on {bus.port.path})", bus, clock)
        self._sequence = 0
        self._expected = device.name
        self._banner = Banner("!HELLO ", device.banner_wait_s, clock)

    def wake(self) -> bool:
        """Wait for the banner: opening the port may have restarted the board. Raises DeviceError."""
        return self._exchange("waiting for its start", self._await_banner, force=True)

    def _await_banner(self, line: Line) -> bool:
        return self._banner.wait(line, self._bus)

    def read(self, places: "Sequence[Place]", force: bool = False) -> list[Raw]:
        """Return the values of fields; one SEE whatever their number."""
        if not places:
            return []
        try:
            seen = fields_of(self._ask("SEE", force=force))
        except DeviceError as e:
            return [e] * len(places)
        return [seen.get(p.field, BadReply(f"{self.name}: SEE has no value {p.field}")) for p in places]

    def write(self, place: "Written", raw: float, force: bool = False) -> None:
        """Write an output, or feed the dead-man. Raises BadReply where the board says another thing."""
        wish = f"FED {raw:g}" if place.feeds else f"PUT {place.field} {raw:g}"
        reply = self._ask(wish, force, greeted=not force)
        if reply != wish:
            raise BadReply(f"{self.name}: asked {wish}, the board says {reply}")

    def simulated_speed(self) -> float | None:
        """Return the speed that follows SIM in the reply to WHO."""
        match = re.search(r" SIM (\d+(\.\d+)?)$", self._ask("WHO"))
        return float(match[1]) if match else None

    def check_name(self) -> None:
        """Raise BadReply when the reply to WHO has not the name that the oven file gives."""
        if self._expected is None:
            return
        said = self._ask("WHO").split(" ")[1:2]
        if said != [self._expected]:
            heard = said[0] if said else "nobody"
            raise BadReply(f"{self.name}: {heard} answers, not {self._expected}; are two boards swapped?")

    def _ask(self, wish: str, force: bool = False, greeted: bool = False) -> str:
        return self._exchange(wish, lambda line: self._talk(line, wish, force), force, greeted)

    def _talk(self, line: Line, wish: str, at_once: bool) -> str:
        if not at_once:
            self._await_banner(line)
        self.started_anew(wish, self._banner.overheard(self._bus.overheard()), at_once)
        self._sequence = (self._sequence + 1) % 256
        line.write(framed(">", self._sequence, wish))
        got = self._line_with_words(line)
        if got is None:
            raise NoReply(f"{self.name}, {wish}: no reply")
        self.started_anew(wish, self._banner.within(got), at_once=False)
        words = unframed(got, self._sequence, f"{self.name}, {wish}")
        self._banner.answered(self._bus)
        return words

    def _line_with_words(self, line: Line) -> str | None:
        """Return the next line that is not empty: a board that starts sends a line feed before its banner."""
        got = read_line(line, b"\n", LONGEST, self._clock)
        return read_line(line, b"\n", LONGEST, self._clock) if got == "" else got


def framed(mark: str, sequence: int, words: str) -> bytes:
    """Return one line with sequence number, CRC and line end."""
    body = f"{mark}{sequence:02X} {words}"
    return f"{body}*{crc16(body.encode('ascii')):04X}\n".encode("ascii")


def unframed(line: str, sequence: int, what: str) -> str:
    """Return the words of a reply. Raises BadReply (damaged, or of another request) or DeviceRefused."""
    match = _REPLY.fullmatch(line)
    if match is None or int(match[3], 16) != crc16(line[: -len("*CCCC")].encode("ascii", "replace")):
        raise BadReply(f"{what}: damaged reply {line[:40]!r}")
    if int(match[1], 16) != sequence:
        raise BadReply(f"{what}: the reply belongs to another request")
    if match[2].startswith("ERR"):
        raise DeviceRefused(f"{what}: the board refuses: {match[2]}")
    return match[2]


def fields_of(words: str) -> dict[str, float]:
    """Return the values of a SEE reply. Raises BadReply for anything that is not name=number."""
    word, *pairs = words.split(" ")
    found: dict[str, float] = {}
    for pair in pairs:
        name, _, value = pair.partition("=")
        if value != "open" and not _NUMBER.fullmatch(value):
            raise BadReply(f"cannot read {pair!r} in the reply to SEE")
        found[name] = OPEN_RAW if value == "open" else float(value)
    if word != "SEE":
        raise BadReply(f"asked SEE, the board says {word}")
    return found
