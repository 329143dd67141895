"""Mistakes with boards on a network."""

from faults.planted.bench import OVEN, Bench, Mistake
from foreign.wires import OnASocket

PORT = 'path = "PATH"\nbaud = 19200'

TCP = OVEN.replace(PORT, 'path = "PATH"')


class OnNetwork(Bench):
    """The same boards behind a Modbus TCP gateway that refuses (0B) for whoever is not there (1.1b3, 7).

    With the manner `taken` it serves one connection, which another program has.
    """

    def __init__(self, manner=None) -> None:
        super().__init__()
        self._socket = OnASocket({**{n: _NotThere() for n in range(1, 248)}, **self.units}, manner=manner)

    @property
    def path(self) -> str:
        return f"tcp://127.0.0.1:{self._socket.port}"

    def close(self) -> None:
        self._socket.close()
        super().close()


def taken(*_reply: bytes) -> None:
    """Say nothing and close."""


class _NotThere:
    def answer(self, pdu: bytes) -> bytes:
        return bytes([pdu[0] | 0x80, 0x0B])


class HangsUp(OnNetwork):
    """A board on a network that closes the connection after each answer."""

    def __init__(self) -> None:
        super().__init__()
        reply = self._socket._reply

        def once(peer, frame: bytes) -> bool:
            reply(peer, frame)
            return False

        self._socket._reply = once


class AnyUnit(OnNetwork):
    """A network board that takes any unit number and answers with one of its own, as its data sheet says."""

    def __init__(self, says: int) -> None:
        Bench.__init__(self)

        def own(head: bytes, body: bytes) -> list[tuple[float, bytes]]:
            return [(0.0, head + bytes([says]) + body[1:])]

        self._socket = OnASocket(self.units, manner=own, any_unit=True)


MISTAKES = [
    Mistake(
        "a wrong unit behind a gateway",
        "bus check",
        "address 7, but address 1 does",
        "address = 1",
        "address = 7",
        board=OnNetwork,
        file=TCP,
        never="no (coil|discrete|holding)|baud",
    ),
    Mistake(
        "a network board of another language",
        "bus check",
        "does not speak Modbus over TCP; try socket://",
        board=lambda: OnNetwork(manner=lambda *_: [(0.0, b"HTTP/1.1 400 Bad Request\r\n\r\n")]),
        file=TCP,
        never="parity|unterminated",
    ),
    Mistake(
        "a network board that another program has",
        "bus check",
        "one connection|another program",
        board=lambda: OnNetwork(taken),
        file=TCP,
        never="baud|unit",
    ),
    Mistake(
        "a network board that hangs up after each answer",
        "bus check",
        "closes the connection",
        board=HangsUp,
        file=TCP,
        never="another program|baud",
    ),
    Mistake(
        "a network board that answers as unit 255",
        "bus check",
        "unit 255 answers.*write address = 255",
        file=TCP,
        board=lambda: AnyUnit(255),
        never="Check address",
    ),
]
