"""One Modbus RTU device: reads and writes places of the oven file, all four tables, all formats.

Frames and checks are minimalmodbus's. Adjacent places are read together, because on a slow line every
exchange costs more than the bytes it carries. After a miss the device is `silent`: until it answers again it
gets one short probe a tick, so that a dead device does not starve the others on the wire.
"""

import struct
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

import minimalmodbus

from kilnctl.clock import Clock
from kilnctl.config.oven import Device, Place, Written
from kilnctl.devices.bus import Bus
from kilnctl.devices.health import Health
from kilnctl.devices.port import Line
from kilnctl.errors import DeviceError, NoReply, PortLost

MOST_TOGETHER = 32
SHORT_PROBE_S = 0.05
_CODES = {"int16": "h", "uint16": "H", "int32": "i", "uint32": "I", "float32": "f"}
_READ = {"coil": 1, "discrete": 2, "holding": 3, "input": 4}

T = TypeVar("T")
Raw = float | DeviceError


@dataclass(frozen=True, slots=True)
class Block:
    """A run of registers or bits that is read in one exchange; `members` index the places asked for."""

    table: str
    first: int
    count: int
    members: tuple[int, ...]


class ModbusDevice:
    """One address on a bus.

    `greeted` is the opening of the port in which off was sent and identities were checked; only in that one
    is anything written that is not off.
    """

    def __init__(self, name: str, device: Device, bus: Bus, clock: Clock) -> None:
        self.health = Health()
        self.silent = False
        self.greeted = 0
        self._name = f"{name} (address {device.address} on {bus.port.path})"
        self._address = device.address
        self._bus = bus
        self._clock = clock
        self._slowest_s = 0.0
        self._probe_left = True
        self._instrument: minimalmodbus.Instrument | None = None

    def new_tick(self) -> None:
        """A new tick begins: a silent device may be probed once more."""
        self._probe_left = True

    def read(self, places: Sequence[Place], force: bool = False) -> list[Raw]:
        """Return the raw number at each place (before scale and offset), or the error in its stead.

        `force` asks a silent device too: for the read-back of off.
        """
        found: list[Raw] = [NoReply(self._name)] * len(places)
        for block in blocks(places):
            values: list[int] | DeviceError
            try:
                values = self._read_block(block, force)
            except DeviceError as e:
                values = e
            for i in block.members:
                found[i] = values if isinstance(values, DeviceError) else _pick(values, block, places[i])
        return found

    def write(self, place: Written, raw: int, force: bool = False) -> None:
        """Write a raw number. Raises DeviceError; after an error the state out there is unknown.

        `force` is for off: sent even to a silent device, and on a line that never gets quiet.
        """
        what = f"{self._name}, writing {raw} to {place.table} {place.register_no}"
        self._exchange(what, lambda i: _send(i, place, raw), force, None if force else self.greeted)

    def _read_block(self, block: Block, force: bool) -> list[int]:
        what = f"{self._name}, reading {block.table} {block.first}"
        code = _READ[block.table]

        def ask(instrument: minimalmodbus.Instrument) -> list[int]:
            read = instrument.read_bits if code <= 2 else instrument.read_registers
            return list(read(block.first, block.count, functioncode=code))

        return self._exchange(what, ask, force)

    def _exchange(
        self,
        what: str,
        ask: Callable[[minimalmodbus.Instrument], T],
        force: bool = False,
        only_in: int | None = None,
    ) -> T:
        if self.silent and not self._probe_left and not force:
            raise NoReply(f"{self._name}: no reply to the last {self.health.misses_in_a_row} tries")
        self._probe_left = False
        timeout_s = min(self._bus.port.timeout_s, max(SHORT_PROBE_S, 3 * self._slowest_s))
        try:
            answer = self._bus.exchange(
                what, lambda line: ask(self._on(line)), timeout_s if self.silent else None, force, only_in
            )
        except DeviceError as e:
            self.silent = self.silent or isinstance(e, NoReply | PortLost)
            self.health.note(False, self._clock.real_s())
            raise
        self.silent = False
        self.health.note(True, self._clock.real_s())
        if self._instrument is not None:
            self._slowest_s = max(self._slowest_s, self._instrument.roundtrip_time or 0.0)
        return answer

    def _on(self, line: Line) -> minimalmodbus.Instrument:
        if self._instrument is None:
            self._instrument = minimalmodbus.Instrument(line, self._address)
        self._instrument.serial = line
        return self._instrument


def blocks(places: Sequence[Place]) -> list[Block]:
    """Return the fewest exchanges that read all places without touching a register nobody asked for."""
    order = sorted(range(len(places)), key=lambda i: (places[i].table, places[i].register_no))
    found: list[Block] = []
    for i in order:
        place = places[i]
        end = place.register_no + place.words
        last = found[-1] if found else None
        if last and _touches(last, place, end):
            count = max(last.count, end - last.first)
            found[-1] = Block(last.table, last.first, count, (*last.members, i))
        else:
            found.append(Block(place.table, place.register_no, place.words, (i,)))
    return found


def _touches(block: Block, place: Place, end: int) -> bool:
    adjacent = block.table == place.table and place.register_no <= block.first + block.count
    return adjacent and end - block.first <= MOST_TOGETHER


def _pick(values: list[int], block: Block, place: Place) -> float:
    at = place.register_no - block.first
    return decode(place, values[at : at + place.words])


def decode(place: Place, words: Sequence[int]) -> float:
    """Return the number that registers (0..65535) or one bit mean at a place, before scale and offset."""
    if place.bits_table:
        return words[0]
    if place.bit is not None or place.format == "bit":
        return (words[0] >> (place.bit or 0)) & 1
    in_order = words if place.word_order == "high first" else tuple(reversed(words))
    packed = b"".join(word.to_bytes(2, place.byte_order) for word in in_order)
    return float(struct.unpack(f">{_CODES[place.format]}", packed)[0])


def encode(place: Place, raw: int) -> list[int]:
    """Return the registers that carry a raw number. Raises ValueError when it does not fit the format."""
    try:
        packed = struct.pack(f">{_CODES[place.format]}", raw)
    except (struct.error, KeyError) as e:
        raise ValueError(f"{raw} does not fit {place.format}") from e
    words = [int.from_bytes(packed[i : i + 2], place.byte_order) for i in range(0, len(packed), 2)]
    return words if place.word_order == "high first" else words[::-1]


def _send(instrument: minimalmodbus.Instrument, place: Written, raw: int) -> None:
    if place.bits_table and place.multiple:
        instrument.write_bits(place.register_no, [raw])
    elif place.bits_table:
        instrument.write_bit(place.register_no, raw, functioncode=5)
    else:
        words = encode(place, raw)
        if len(words) == 1 and not place.multiple:
            instrument.write_register(place.register_no, words[0], functioncode=6)
        else:
            instrument.write_registers(place.register_no, words)
