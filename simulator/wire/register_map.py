"""A Modbus unit wired otherwise than the board's own map: other registers, formats and word orders.

The plant's mark (holding 9000 and 9001) answers under every address.
"""

import struct
from collections.abc import Iterable
from dataclasses import dataclass

from simulator.boards.board import Board, NoSuchRegister
from simulator.wire.signal_encoding import Wire

FIRST_MARK = 9000
# What an open sensor reads where no number is set aside for it: the top of the format, as most modules do
# (common practice, no single source); a bit makes no sense there and stays 0.
UPSCALE = {
    "bit": 0.0,
    "int16": 0x7FFF,
    "uint16": 0xFFFF,
    "int32": 0x7FFFFFFF,
    "uint32": 0xFFFFFFFF,
    "float32": float("nan"),
    "float64": float("nan"),
}


@dataclass(frozen=True, slots=True)
class Cell:
    """Where a wire ends: table, first register, format, and bit or mask where several share a register."""

    wire: Wire
    table: str
    register: int
    format: str = "int16"
    low_word_first: bool = False
    low_byte_first: bool = False
    bit: int | None = None
    mask: int | None = None

    @property
    def shift(self) -> int | None:
        """Return by how many bits it is shifted up where others share its register, None where none can."""
        mask = self.mask or 0
        return (mask & -mask).bit_length() - 1 if mask else self.bit

    def registers(self) -> int:
        """Return how many registers it takes."""
        wide = {"32": 2, "64": 4}.get(self.format[-2:], 1)
        return wide if self.table in ("holding", "input") else 1


class WiredUnit:
    """Answers for one unit address."""

    def __init__(self, board: Board, cells: Iterable[Cell]) -> None:
        self._board = board
        self._places: dict[tuple[str, int], list[tuple[Cell, int]]] = {}
        for cell in cells:
            for word in range(cell.registers()):
                self._places.setdefault((cell.table, cell.register + word), []).append((cell, word))

    def get(self, table: str, register: int) -> int:
        """Read a register. Raises NoSuchRegister."""
        cells = self._places.get((table, register))
        if cells is None:
            if table == "holding" and register in (FIRST_MARK, FIRST_MARK + 1):
                return self._board.get(table, register)
            raise NoSuchRegister(f"{table} {register}")
        first, word = cells[0]
        if first.shift is not None:
            board = self._board.speaker()
            held = sum(_shared(c, c.wire.raw(board)) for c, _ in cells)
            return held >> 16 * (first.registers() - 1 - word) & 0xFFFF
        raw = first.wire.raw(self._board.speaker())
        if table in ("coil", "discrete"):
            return int(bool(raw))
        raw = UPSCALE[first.format] if raw is None else raw
        return int.from_bytes(packed(raw, first)[2 * word : 2 * word + 2], "big")

    def set(self, table: str, register: int, value: int) -> None:
        """Write a register. Raises NoSuchRegister."""
        cells = self._places.get((table, register))
        if cells is None or table not in ("coil", "holding"):
            raise NoSuchRegister(f"{table} {register}")
        for cell, _ in cells:
            if not cell.wire.output:
                raise NoSuchRegister(f"{table} {register}")
            signed = value - 0x10000 if cell.format == "int16" and value >= 0x8000 else value
            cell.wire.write(self._board.speaker(), signed if cell.bit is None else value >> cell.bit & 1)


def _shared(cell: Cell, raw: float | None) -> int:
    """Return what a cell brings into a register that it shares; an open sensor without a number: all ones."""
    if cell.mask is None:
        return int(bool(raw)) << (cell.bit or 0)
    return cell.mask if raw is None else round(raw) << (cell.shift or 0) & cell.mask


def packed(raw: float, cell: Cell) -> bytes:
    """Return a raw number in the cell's format and order."""
    if cell.format.startswith("float"):
        data = struct.pack(">f" if cell.format == "float32" else ">d", raw)
    else:
        size = 2 * cell.registers()
        data = (round(raw) & (1 << 8 * size) - 1).to_bytes(size, "big")
    if cell.low_word_first:
        data = b"".join(data[i : i + 2] for i in range(len(data) - 2, -1, -2))
    if cell.low_byte_first:
        data = b"".join(data[i : i + 2][::-1] for i in range(0, len(data), 2))
    return data
