"""A line protocol for a maker's own firmware, and the master's side of it.

THE SPECIFICATION (version 1; everything that a firmware has to do)

Bytes are ASCII, 8N1, any speed. A line ends with LF; CR is ignored. No line is longer than 120 characters.

    request   >SS WORD ...*CCCC      from the computer
    reply     <SS WORD ...*CCCC      from the board, once, within 100 ms
    banner    !HELLO name version    from the board, once after every start, before anything else

SS is a sequence number of two hex digits; the reply repeats it. The computer never uses the same number
twice in a row and takes no reply with another number, so a late reply is never taken for the next one. CCCC
is a CRC-16 of all characters before the `*`, from `>` or `<` on, as four upper-case hex digits, high digit
first: start FFFF, polynomial 8005 reflected (A001), no final inversion: the CRC of Modbus RTU ("123456789"
gives 4B37). A board drops without reply a line with a wrong CRC, one too long, and one that is no request.

    >07 WHO        <07 WHO name version          who is there; a simulator appends: SIM speed
    >08 SEE        <08 SEE name=value ...        every value that the board has, in an order of its own
    >09 PUT heater 1     <09 PUT heater 1        set an output; the reply gives the state READ FROM THE PIN
    >0A FED 10     <0A FED 10                    the heat may stay on for 10 s from now (whole seconds, 1..30)
    >0B OFF        <0B OFF                       every output that heats goes off
    any            <0C ERR reason                known line, impossible wish: unknown name, value or word

Values are decimal numbers (`-12`, `218.25`), or `open` for a temperature whose sensor is broken; switches and
outputs are 0 or 1, a duty output 0..1000. Names are lower-case letters, digits and `_`.

What the board owes, whatever arrives:
1. After every start all outputs are off, before the banner is sent, and stay off until a PUT.
2. When FED has run out (or never came), outputs that heat go off at once, and a PUT that heats is answered by
   ERR hungry. The processor's own watchdog must restart a board that hangs in its code.
3. A bare line `OFF`, without frame or CRC, works like the request OFF: going off needs no permission.
4. PUT answers with what the pin does, never with an echo of the wish.

The plain-text devices of devices/text.py are for boards whose language is already fixed.
"""

import re
from collections.abc import Sequence

from kilnctl.clock import Clock
from kilnctl.config.wiring import DeadMan, LineDevice, Place, Written
from kilnctl.devices.bus import Bus
from kilnctl.devices.checksums import crc16
from kilnctl.devices.device import Raw, WiredDevice
from kilnctl.devices.line_io import Banner, read_line
from kilnctl.devices.port import Line
from kilnctl.devices.signals import OPEN_RAW
from kilnctl.errors import BadReply, DeviceError, DeviceRefused, NoReply

LONGEST = 120
_REPLY = re.compile(r"<([0-9A-F]{2}) (.*)\*([0-9A-F]{4})")
_NUMBER = re.compile(r"[+-]?\d{1,9}(\.\d{1,6})?")


class LineBoard(WiredDevice):
    """A board that speaks the protocol above."""

    def __init__(self, name: str, device: LineDevice, bus: Bus, clock: Clock) -> None:
        super().__init__(f"{name} (on {bus.port.path})", bus, clock)
        self._sequence = 0
        self._banner = Banner("!HELLO ", device.banner_wait_s, clock)

    def wake(self) -> None:
        """Wait for the banner: opening the port may have restarted the board. Raises DeviceError."""
        self._exchange("waiting for its start", self._await_banner, force=True)

    def _await_banner(self, line: Line) -> None:
        self._banner.wait(line, self._bus)

    def read(self, places: Sequence[Place], force: bool = False) -> list[Raw]:
        """Return the values of fields; one SEE whatever their number."""
        if not places:
            return []
        try:
            seen = fields_of(self._ask("SEE", force=force))
        except DeviceError as e:
            return [e] * len(places)
        return [seen.get(p.field, BadReply(f"{self.name}: SEE has no value {p.field}")) for p in places]

    def write(self, place: Written, raw: int, force: bool = False) -> None:
        """Write an output, or feed the dead-man."""
        wish = f"FED {raw}" if isinstance(place, DeadMan) else f"PUT {place.field} {raw}"
        reply = self._ask(wish, force, greeted=not force)
        if reply != wish:
            raise BadReply(f"{self.name}: asked {wish}, the board says {reply}")

    def simulated_speed(self) -> float | None:
        """Return the speed that follows SIM in the reply to WHO."""
        match = re.search(r" SIM (\d+(\.\d+)?)$", self._ask("WHO"))
        return float(match[1]) if match else None

    def _ask(self, wish: str, force: bool = False, greeted: bool = False) -> str:
        return self._exchange(wish, lambda line: self._talk(line, wish, force), force, greeted)

    def _talk(self, line: Line, wish: str, at_once: bool) -> str:
        if not at_once:
            self._await_banner(line)
        self.started_anew(wish, self._banner.overheard(self._bus.overheard()), at_once)
        self._sequence = (self._sequence + 1) % 256
        line.write(framed(">", self._sequence, wish))
        got = read_line(line, b"\n", LONGEST, self._clock)
        if got is None:
            raise NoReply(f"{self.name}, {wish}: no reply")
        self.started_anew(wish, self._banner.seen_in(got), at_once=False)
        return unframed(got, self._sequence, f"{self.name}, {wish}")


def framed(mark: str, sequence: int, words: str) -> bytes:
    """Return one line with sequence number, CRC and line end."""
    body = f"{mark}{sequence:02X} {words}"
    return f"{body}*{crc16(body.encode('ascii')):04X}\n".encode("ascii")


def unframed(line: str, sequence: int, what: str) -> str:
    """Return the words of a reply. Raises BadReply (damaged, or of another request) or DeviceRefused."""
    match = _REPLY.fullmatch(line)
    if match is None or int(match[3], 16) != crc16(line[: -len("*CCCC")].encode("ascii")):
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
