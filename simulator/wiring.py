"""A board wired otherwise: other registers, formats and scales over the same signals.

A `Wire` says where one signal of the board lives in somebody's device; a `WiredUnit` answers for one unit
address by such wires. The plant's mark (holding 9000 and 9001) answers under every address.
"""

import struct
from collections.abc import Iterable
from dataclasses import dataclass

from simulator.board import COILS, Board, NoSuchRegister
from simulator.reading import OPEN

INPUTS = {
    "process": (0, 0.1),
    "second": (1, 0.1),
    "cold_junction": (2, 0.1),
    "load": (3, 0.1),
    "ambient": (4, 0.1),
    "enclosure": (5, 0.1),
    "supply_v": (6, 0.1),
    "current_a": (7, 0.01),
    "counter": (8, 1.0),
}
SWITCHES = {"door_open": 0, "heater_live": 1, "fan_on": 2, "smoke": 3, "limit_open": 4}
PACKING = {"int16": ">h", "uint16": ">H", "int32": ">i", "uint32": ">I", "float32": ">f"}
FIRST_MARK = 9000


@dataclass(frozen=True, slots=True)
class Wire:
    """Where a signal lives and how it becomes a count: value = raw * scale + offset.

    `signal` is a name of INPUTS, SWITCHES, COILS, "dead_man" or "constant"; `on` and `off` are the counts
    of an output in a register; for the dead-man `on` feeds it for `holds_s`; a constant's value is `on`.
    """

    signal: str
    table: str
    register: int
    format: str = "int16"
    low_word_first: bool = False
    low_byte_first: bool = False
    bit: int | None = None
    scale: float = 1.0
    offset: float = 0.0
    fahrenheit: bool = False
    open_value: int | None = None
    inverted: bool = False
    on: int = 1
    off: int = 0
    holds_s: float = 10.0

    def words(self) -> int:
        """Return how many registers it takes."""
        return 2 if self.format.endswith("32") else 1


class WiredUnit:
    """Answers for one unit address."""

    def __init__(self, board: Board, wires: Iterable[Wire]) -> None:
        self._board = board
        self._places: dict[tuple[str, int], list[tuple[Wire, int]]] = {}
        for wire in wires:
            for word in range(wire.words()):
                self._places.setdefault((wire.table, wire.register + word), []).append((wire, word))

    def get(self, table: str, register: int) -> int:
        """Read a register. Raises NoSuchRegister."""
        wires = self._places.get((table, register))
        if wires is None:
            if table == "holding" and register in (FIRST_MARK, FIRST_MARK + 1):
                return self._board.get(table, register)
            raise NoSuchRegister(f"{table} {register}")
        if wires[0][0].bit is not None:
            return sum(_truth(self._board, wire) << (wire.bit or 0) for wire, _ in wires)
        return self._word(*wires[0])

    def set(self, table: str, register: int, value: int) -> None:
        """Write a register. Raises NoSuchRegister."""
        wires = self._places.get((table, register))
        if wires is None or table not in ("coil", "holding"):
            raise NoSuchRegister(f"{table} {register}")
        for wire, _ in wires:
            self._write(wire, value)

    def _write(self, wire: Wire, value: int) -> None:
        if wire.signal == "dead_man":
            if value == wire.on:
                self._board.set("holding", 0, round(wire.holds_s))
        elif wire.signal in COILS:
            seen = value >> wire.bit & 1 if wire.bit is not None else int(value == wire.on)
            self._board.set("coil", COILS.index(wire.signal), seen)
        else:
            raise NoSuchRegister(wire.signal)

    def _word(self, wire: Wire, word: int) -> int:
        if wire.signal in COILS:
            return wire.on if _truth(self._board, wire) else wire.off
        if wire.signal in SWITCHES or wire.table in ("coil", "discrete"):
            return _truth(self._board, wire)
        if wire.signal == "dead_man":
            return self._board.get("holding", 0)
        data = _packed(_raw(self._board, wire), wire)
        return int.from_bytes(data[2 * word : 2 * word + 2], "big")


def _truth(board: Board, wire: Wire) -> int:
    if wire.signal in COILS:
        return board.get("coil", COILS.index(wire.signal))
    if wire.signal in SWITCHES:
        return board.get("discrete", SWITCHES[wire.signal]) ^ int(wire.inverted)
    return int(board.get("holding", 0) > 0)


def _raw(board: Board, wire: Wire) -> float:
    if wire.signal == "constant":
        return wire.on
    register, step = INPUTS[wire.signal]
    count = board.get("input", register)
    if count == OPEN and step == 0.1 and wire.open_value is not None:
        return wire.open_value
    count = count - 0x10000 if count >= 0x8000 and wire.signal != "counter" else count
    value = count * step
    value = value * 1.8 + 32.0 if wire.fahrenheit else value
    return (value - wire.offset) / wire.scale


def _packed(raw: float, wire: Wire) -> bytes:
    if wire.format == "float32":
        data = struct.pack(">f", raw)
    else:
        whole, size = round(raw), struct.calcsize(PACKING[wire.format])
        data = (whole & (1 << 8 * size) - 1).to_bytes(size, "big")
    if wire.low_word_first:
        data = data[2:] + data[:2]
    if wire.low_byte_first:
        data = b"".join(data[i : i + 2][::-1] for i in range(0, len(data), 2))
    return data
