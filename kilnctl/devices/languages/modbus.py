"""One Modbus device, RTU or ASCII: reads and writes places of the oven file, all four tables, all formats.

Frames and checks are minimalmodbus's. Adjacent places are read together, because on a slow line every
exchange costs more than the bytes it carries.
"""

import struct
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, NamedTuple

import minimalmodbus

from kilnctl.clock import Clock
from kilnctl.config.port_path import UNIT_0
from kilnctl.devices.bus import Bus
from kilnctl.devices.contact import bits_of
from kilnctl.devices.device import Raw, T, WiredDevice
from kilnctl.devices.port import Line
from kilnctl.errors import DeviceBusy, DeviceError, DeviceRefused, NoReply, PortLost

if TYPE_CHECKING:
    from kilnctl.config.device_keys import ModbusDevice
    from kilnctl.config.places import Place
    from kilnctl.config.wiring import Written

SIMULATED_PLANT = 0x5350  # "SP" in the first of the two registers by which a simulator gives itself away
SIMULATOR_REGISTERS = (9000, 9001)
MOST_TOGETHER = 32
# A board that is busy has done nothing and may be asked again (application protocol 1.1b3, 7), such as while
# it stores a setting. Not for longer in so many seconds: an off is bounded, and others want the line.
BUSY_S, BUSY_EVERY_S = 0.6, 2.0
_CODES = {"int16": "h", "uint16": "H", "int32": "i", "uint32": "I", "float32": "f", "float64": "d"}
_READ = {"coil": 1, "discrete": 2, "holding": 3, "input": 4}


class Block(NamedTuple):
    """A run of registers or bits that is read in one exchange; `members` index the places asked for."""

    table: str
    first: int
    size: int
    members: tuple[int, ...]


class ModbusBoard(WiredDevice):
    """One address on a Modbus line."""

    def __init__(self, name: str, device: "ModbusDevice", bus: Bus, clock: Clock) -> None:
        super().__init__(f"{name} (address {device.address} on {bus.port.path})", bus, clock)
        self._address = device.address or UNIT_0
        self._together = MOST_TOGETHER if device.together else 1
        self._instrument: minimalmodbus.Instrument | None = None
        self._words: dict[int, int] = {}  # registers of which bits are written, as they were written last
        self._busy_from_s = -BUSY_EVERY_S

    def read(self, places: "Sequence[Place]", force: bool = False) -> list[Raw]:
        """Return the raw number at each place; adjacent ones come in one exchange."""
        found: list[Raw] = [NoReply(self.name)] * len(places)
        # What is asked for first is read first: after a silence it shows what any later word may change.
        for block in sorted(blocks(places, self._together), key=lambda block: min(block.members)):
            values: list[int] | DeviceError
            try:
                values = self._read_block(block, force)
            except DeviceError as e:
                values = e
            for i in block.members:
                found[i] = values if isinstance(values, DeviceError) else _pick(values, block, places[i])
        return found

    def write(self, place: "Written", raw: float, force: bool = False) -> None:
        """Write a coil, a register, or one bit of a register, of which the others stay as they were written.

        Nothing is read for that: before its first word a register is 0, and so are bits nobody writes here.
        """
        by = " by function 16" if place.registers > 1 or (place.multiple and not place.bits_table) else ""
        by = " by function 15" if place.multiple and place.bits_table else by
        doing = f"writing {raw:g}{by} to {place.table} {place.where.partition(' ')[2]}"
        word = raw if place.bit is None else self._with_bit(place.register_no, place.bit, bool(raw))
        try:
            self._asked(doing, lambda line: _send(self._on(line), place, word), force, greeted=not force)
        except DeviceError as e:
            if place.bit is not None:
                self._with_bit(place.register_no, place.bit, on=False)  # no later word may bring it
            if place.bit is not None and force and isinstance(e, DeviceRefused):
                self._words[place.register_no] = 0  # a board that has tripped may take nothing but all off
            raise

    def _asked(self, doing: str, work: Callable[[Line], T], force: bool = False, greeted: bool = False) -> T:
        """Run an exchange, again while the board is busy; with the line to itself from first to last."""
        with self._bus.alone():
            while True:
                try:
                    return self._exchange(doing, work, force, greeted)
                except DeviceBusy:
                    now_s = self._clock.real_s()
                    if now_s - self._busy_from_s > BUSY_EVERY_S:
                        self._busy_from_s = now_s
                    if now_s - self._busy_from_s > BUSY_S:
                        raise

    def _with_bit(self, register_no: int, bit: int, on: bool) -> int:
        before = self._words.get(register_no, 0)
        self._words[register_no] = before | 1 << bit if on else before & ~(1 << bit)
        return self._words[register_no]

    def simulated_speed(self) -> float | None:
        """Return the speed of a simulator, which says so in two holding registers; None for a real device."""
        from kilnctl.config.places import Place  # a start asks this, never an off

        marks = [Place(device="", table="holding", register=n, format="uint16") for n in SIMULATOR_REGISTERS]
        mark, speed = self.read(marks)
        if isinstance(mark, PortLost):
            raise mark
        return None if mark != SIMULATED_PLANT or isinstance(speed, DeviceError) else speed

    def _read_block(self, block: Block, force: bool) -> list[int]:
        code = _READ[block.table]

        def ask(line: Line) -> list[int]:
            instrument = self._on(line)
            read = instrument.read_bits if code <= 2 else instrument.read_registers
            return list(read(block.first, block.size, functioncode=code))

        return self._asked(f"reading {block.table} {block.first}", ask, force)

    def _on(self, line: Line) -> minimalmodbus.Instrument:
        if self._instrument is None:
            self._instrument = minimalmodbus.Instrument(line, self._address, mode=self._bus.port.frames)
            self._instrument.handle_local_echo = self._bus.port.echoes
        self._instrument.serial = line
        return self._instrument


def blocks(places: "Sequence[Place]", most: int = MOST_TOGETHER) -> list[Block]:
    """Return the fewest exchanges that read all places without touching a register nobody asked for."""
    order = sorted(range(len(places)), key=lambda i: (places[i].table, places[i].register_no))
    found: list[Block] = []
    for i in order:
        place = places[i]
        end = place.register_no + place.registers
        last = found[-1] if found else None
        if last and _touches(last, place, end, most):
            size = max(last.size, end - last.first)
            found[-1] = Block(last.table, last.first, size, (*last.members, i))
        else:
            found.append(Block(place.table, place.register_no, place.registers, (i,)))
    return found


def _touches(block: Block, place: "Place", end: int, most: int) -> bool:
    adjacent = block.table == place.table and place.register_no <= block.first + block.size
    return adjacent and end - block.first <= most


def _pick(values: list[int], block: Block, place: "Place") -> float:
    at = place.register_no - block.first
    return decode(place, values[at : at + place.registers])


def decode(place: "Place", registers: Sequence[int]) -> float:
    """Return the number that registers (0..65535) or one bit mean at a place, before scale and offset."""
    if place.bits_table:
        return registers[0]
    if place.bit is not None or place.format == "bit":
        return (registers[0] >> (place.bit or 0)) & 1
    if place.mask is not None:
        return bits_of(place, int(_number(place, registers)))
    return _number(place, registers)


def _number(place: "Place", registers: Sequence[int]) -> float:
    in_order = registers if place.word_order == "high first" else tuple(reversed(registers))
    packed = b"".join(word.to_bytes(2, place.byte_order) for word in in_order)
    return float(struct.unpack(f">{_CODES[place.format]}", packed)[0])


def encode(place: "Place", raw: float) -> list[int]:
    """Return the registers that carry a raw number. Raises ValueError when it does not fit the format."""
    try:
        packed = struct.pack(f">{_CODES[place.format]}", raw)
    except (struct.error, KeyError) as e:
        raise ValueError(f"{raw} does not fit {place.format}") from e
    words = [int.from_bytes(packed[i : i + 2], place.byte_order) for i in range(0, len(packed), 2)]
    return words if place.word_order == "high first" else words[::-1]


def _send(instrument: minimalmodbus.Instrument, place: "Written", raw: float) -> None:
    if place.bits_table and place.multiple:
        instrument.write_bits(place.register_no, [raw])
    elif place.bits_table:
        instrument.write_bit(place.register_no, raw, functioncode=5)
    else:
        words = encode(place, raw) if place.bit is None else [int(raw)]
        if len(words) == 1 and not place.multiple:
            instrument.write_register(place.register_no, words[0], functioncode=6)
        else:
            instrument.write_registers(place.register_no, words)
