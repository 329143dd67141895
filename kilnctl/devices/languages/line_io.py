"""Lines of text on a bus: reading one, and the banner that a board sends when it has started."""

from kilnctl.clock import Clock
from kilnctl.devices.bus import Bus
from kilnctl.devices.port import Line
from kilnctl.errors import BadReply

PIECE_S = 0.1


def read_line(line: Line, end: bytes, longest: int, clock: Clock) -> str | None:
    """Return one line without its end, or None when no whole one came within twice the port's timeout.

    Raises BadReply for one of more than `longest` characters. Bytes that are not ASCII are replaced by a sign
    that matches nothing, so a damaged line stays damaged.
    """
    give_up_s = clock.real_s() + 2 * (line.timeout or 0.0)
    got = b""
    while not got.endswith(end):
        byte = line.read(1)
        if not byte or clock.real_s() > give_up_s:
            return None
        got += byte
        if len(got) > longest + len(b"\r\n"):
            raise BadReply(f"a line of more than {longest} characters: wrong speed, or another protocol")
    return got[: -len(end)].decode("ascii", errors="replace").strip("\r\n")


class Banner:
    """The first words of a board. Opening a port may restart it; its first words are waited for once."""

    def __init__(self, starts: str, wait_s: float, clock: Clock) -> None:
        self._starts = starts
        self._wait_s = wait_s
        self._clock = clock
        self._waited_in = 0

    def wait(self, line: Line, bus: Bus) -> bool:
        """After a fresh opening, wait until the banner has come, or as long as it may take.

        Return whether there was anything to wait for; the board may answer now where it did not before.
        """
        if bus.openings == self._waited_in:
            return False
        self._waited_in = bus.openings
        if not self._starts or not self._wait_s:
            return False
        if self.overheard(bus.overheard()):
            return True
        before, give_up_s, got, piece = line.timeout, self._clock.real_s() + self._wait_s, b"", b"?"
        line.timeout = PIECE_S
        # What follows the banner, such as a prompt, is thrown away with it.
        while self._clock.real_s() < give_up_s and (piece or not self._is_whole(got)):
            piece = line.read(max(1, line.in_waiting))
            got = (got + piece)[-400:]
        line.timeout = before
        return True

    def _is_whole(self, got: bytes) -> bool:
        return b"\n" in got.partition(self._starts.encode())[2]

    def answered(self, bus: Bus) -> None:
        """Wait for nothing in this opening of the port: the board has answered, so it is not starting."""
        self._waited_in = bus.openings

    def overheard(self, data: bytes) -> bool:
        """True when what came unasked has the banner in it: the board has restarted meanwhile."""
        return bool(self._starts) and self._starts.encode() in data

    def seen_in(self, line: str) -> bool:
        """True when a line that should be a reply is the banner: the board has restarted."""
        return bool(self._starts) and line.startswith(self._starts)

    def within(self, line: str) -> bool:
        """True when the banner stands anywhere in a line: the board has restarted in mid-reply."""
        return bool(self._starts) and self._starts in line
