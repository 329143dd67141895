"""A port that is an address on a network: the bytes of a serial line over TCP, and Modbus over TCP.

A connection is a line as a serial port is one: one owner on this computer, one exchange at a time, quiet
after every error. Frames are minimalmodbus's; for Modbus over TCP the header of the messaging guide
(Modbus.org, V1.0b, 3.1.3) takes the place of address and checksum. Its transaction number ties a reply to
its request.
"""

import errno
import fcntl
import re
import select
import socket
import struct
import termios
from typing import TYPE_CHECKING

from kilnctl.clock import RealClock
from kilnctl.config.port_path import UNIT_0, host_and_number, is_network
from kilnctl.devices.checksums import crc16
from kilnctl.errors import BadReply, PortLost

if TYPE_CHECKING:
    from kilnctl.config.device_keys import Port

CONNECT_S = 0.5  # a board on the same network takes some milliseconds; off must not wait longer
SEND_S = 0.5
CUT_SHORT_S = 3.0  # a connection that ends so soon, and after an answer, is not meant to stay
UNHEARD_MS = 3000  # what nobody acknowledges for so long ends the connection, so that it is made anew
HEADER = struct.Struct(">HHHB")  # transaction, protocol 0, length of what follows, unit
SHOWN = 40
LONGEST = 254  # of unit and function together
OTHER_UNIT = re.compile(r"unit (\d+) answers, not \d+")

HANGS_UP = (
    "the device closes the connection after its answer: look in its settings for a connection that stays "
    "open, and for its idle time"
)


class SocketLine:
    """The bytes of a serial line over a connection; what `Line` names, and what minimalmodbus looks for."""

    baudrate = 115200  # the wait that minimalmodbus keeps between frames, 1.75 ms

    def __init__(self, path: str, timeout_s: float, exclusive: bool) -> None:
        """Connect. Raises OSError."""
        self.port, self.is_open = path, True
        self.timeout: float | None = timeout_s
        self._clock = RealClock()
        self._since_s, self._answered, self._unasked = self._clock.real_s(), False, True
        self._first_words = b""  # before it was asked anything
        self._owner = _only_owner(path) if exclusive else None
        try:
            self._socket = socket.create_connection(host_and_number(path), CONNECT_S)
        except OSError:
            self._let_go()
            raise
        self._socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self._socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_USER_TIMEOUT, UNHEARD_MS)

    @property
    def in_waiting(self) -> int:
        """Bytes received and not yet read. Raises OSError where the other end has closed."""
        count: int = struct.unpack("i", fcntl.ioctl(self._socket, termios.FIONREAD, bytes(4)))[0]
        if not count and self._closed_there():
            raise self._closed()
        return count

    def _closed(self) -> ConnectionResetError:
        if self._unasked and self._first_words:
            words = self._first_words.decode("ascii", "replace").strip()
            return ConnectionResetError(f"the device has said {words!r} and closed the connection")
        soon = self._answered and self._clock.real_s() - self._since_s < CUT_SHORT_S
        return ConnectionResetError(HANGS_UP if soon else "the device has closed the connection")

    def _closed_there(self) -> bool:
        return bool(select.select([self._socket], [], [], 0)[0]) and not self._socket.recv(1, socket.MSG_PEEK)

    def read(self, size: int = 1) -> bytes:
        """Read up to `size` bytes within the timeout."""
        end_s, got = self._clock.real_s() + (self.timeout or 0.0), b""
        while len(got) < size and (more := self._some(size - len(got), end_s)):
            got += more
        return got

    def _some(self, most: int, end_s: float) -> bytes:
        """Return what comes until then, nothing after it. Raises OSError where the other end has closed."""
        left_s = end_s - self._clock.real_s()
        if left_s <= 0.0 and self.timeout:
            return b""  # also where more has come: who never stops talking must not hold the line
        self._socket.settimeout(max(1e-3, left_s))
        try:
            got = self._socket.recv(most)
        except TimeoutError:
            return b""
        if not got:
            raise self._closed()
        self._answered = True
        if self._unasked:
            self._first_words = (self._first_words + got)[:SHOWN]
        return got

    def write(self, data: bytes, /) -> int | None:
        """Send."""
        self._unasked = False
        self._socket.settimeout(SEND_S)
        self._socket.sendall(data)
        return len(data)

    def reset_input_buffer(self) -> None:
        """Throw away what was received."""
        if self.in_waiting:
            self._socket.recv(4096)

    def reset_output_buffer(self) -> None:
        """Nothing waits here to be sent."""

    def flush(self) -> None:
        """As above."""

    def open(self) -> None:
        """A closed connection is never opened again: the bus makes a new one. Raises OSError."""
        raise ConnectionResetError("the connection is closed")

    def close(self) -> None:
        """Give the connection back."""
        self.is_open = False
        self._socket.close()
        self._let_go()

    def _let_go(self) -> None:
        if self._owner is not None:
            self._owner.close()


class ModbusTcpLine(SocketLine):
    """Takes serial frames and gives serial frames; on the network they travel under the header of Modbus TCP.

    A late reply bears an old transaction number and is thrown away. One of another unit, or anything that is
    no such header, is a bad reply. `in_step` after a whole reply to the last request, whatever it says: what
    comes next can only belong to the next one, and no quiet line need be waited for.
    """

    in_step = False

    def __init__(self, path: str, timeout_s: float, exclusive: bool) -> None:
        super().__init__(path, timeout_s, exclusive)
        self._number, self._unit, self._asked = 0, 0, False

    def write(self, data: bytes, /) -> int | None:
        """Send the request that a serial frame holds."""
        unit = 0 if data[0] == UNIT_0 else data[0]
        self._number, self._unit, self._asked = self._number % 0xFFFF + 1, unit, True
        self.in_step = False
        return super().write(HEADER.pack(self._number, 0, len(data) - 2, self._unit) + data[1:-2])

    def read(self, size: int = 1) -> bytes:
        """Return the reply to the last request as a serial frame; without one, bytes as they come."""
        if not self._asked:
            return super().read(size)
        self._asked = False
        reply = self._reply(self._clock.real_s() + (self.timeout or 0.0))
        return reply and reply + crc16(reply).to_bytes(2, "little")

    def _reply(self, end_s: float) -> bytes:
        """Return unit and function of the reply, nothing where none came in time. Raises BadReply."""
        while len(header := self._whole(HEADER.size, end_s)) == HEADER.size:
            number, protocol, length, unit = HEADER.unpack(header)
            if protocol or not 2 <= length <= LONGEST:
                raise BadReply(f"{self.port}: does not speak Modbus over TCP; try socket:// in the path")
            rest = self._whole(length - 1, end_s)
            if len(rest) < length - 1:
                break
            if number != self._number:
                continue
            self.in_step = True
            if unit != self._unit:
                raise BadReply(f"{self.port}: unit {unit} answers, not {self._unit}")
            return bytes([unit or UNIT_0]) + rest
        return b""

    def _whole(self, size: int, end_s: float) -> bytes:
        got = b""
        while len(got) < size and (more := self._some(size - len(got), end_s)):
            got += more
        return got


def open_network(port: "Port", exclusive: bool) -> SocketLine:
    """Connect to the device at a network address. Raises PortLost with one line that says what to do."""
    kind = ModbusTcpLine if port.path.startswith("tcp://") else SocketLine
    assert is_network(port.path)
    try:
        return kind(port.path, port.timeout_s, exclusive)
    except OSError as e:
        raise PortLost(_why_not(port.path, e)) from None


def _why_not(path: str, e: OSError) -> str:
    match e.errno:
        case errno.EADDRINUSE:
            return f"{path}: in use by another program of this computer; stop that first"
        case errno.ECONNREFUSED:
            return f"{path}: nothing is listening there; is the number after the colon right?"
    return f"{path}: not reached; is the device on, and on this network?"


def _only_owner(path: str) -> socket.socket:
    """Take a name that one process of this computer can have, and loses with its end. Raises OSError."""
    owner = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
    try:
        owner.bind(f"\0kilnctl-line-{path}")
    except OSError:
        owner.close()
        raise
    return owner
