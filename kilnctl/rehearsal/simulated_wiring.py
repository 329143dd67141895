"""An oven file turned into a simulator that is wired as the file says."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from kilnctl.config.device_keys import LineDevice, ModbusDevice, TextDevice
from kilnctl.config.oven import Oven
from kilnctl.config.places import Place, Switch
from kilnctl.config.wiring import DeadMan, Heater, Output, Temperature
from kilnctl.devices.languages.text import end_bytes
from kilnctl.errors import ConfigError
from simulator.boards.board import Board
from simulator.oven import ovens
from simulator.oven.plant import Plant
from simulator.wire.line import NAME, Protocol
from simulator.wire.register_map import Cell, WiredUnit
from simulator.wire.serving import Talker
from simulator.wire.signal_encoding import Wire
from simulator.wire.slave import ModbusTalker
from simulator.wire.text import Language, TextTalker

FOLLOWER_HOLDS_S = 10.0
EXPONENT = -1  # tenths, where a register says it

# An oven, its board, and those of its devices that are on one line.
End = tuple[Oven, Board, Sequence[str]]
BUNDLED = {"hardening-furnace": ovens.hardening_furnace, "tempering-oven": ovens.tempering_oven}


def plant_of(oven: Oven) -> Plant:
    """Return the plant that stands for an oven file: its own for a bundled name, else one of its build."""
    if oven.name in BUNDLED:
        return BUNDLED[oven.name]()
    return ovens.oven_like(oven.typical, oven.power_w, oven.supply_v or 230.0, oven.ambient_c)


def board_for(oven: Oven, seed: int, plant: Plant | None = None, limit_c: float | None = None) -> Board:
    """Return a board with the options that the file speaks of, and the oven's plant behind it.

    `plant` is another oven in its place; `limit_c` fits an independent limit with a sensor of its own.
    """
    lines = any(isinstance(device, LineDevice) for device in oven.device.values())
    heater = oven.output.heater
    return Board(
        plant_of(oven) if plant is None else plant,
        seed=seed,
        dead_man=oven.dead_man is not None
        or lines
        or heater.link_loss == "drops"
        or (heater.kind == "duty" and heater.holds_s is not None),
        timer=oven.timer,
        contactor=oven.output.contactor is not None,
        limit_c=limit_c,
        follower=heater.kind == "set-point",
        resolution_k=oven.signal.process.step_k,
    )


def talkers_for(
    ovens_there: Sequence[tuple[Oven, Board]], links: Sequence[Mapping[str, Path]], seed: int
) -> dict[Path, Talker]:
    """Return what answers on each line. `links` gives for each oven the line of each of its ports.

    Raises ConfigError for what one line cannot carry.
    """
    ends: dict[Path, list[End]] = {}
    for (oven, board), lines in zip(ovens_there, links, strict=True):
        for link in dict.fromkeys(lines.values()):
            at_port = [name for name, device in oven.device.items() if lines[device.port] == link]
            if at_port:
                ends.setdefault(link, []).append((oven, board, at_port))
    return {link: _talker(there, seed) for link, there in ends.items()}


def _talker(ends: Sequence[End], seed: int) -> Talker:
    devices = [oven.device[name] for oven, _, at_port in ends for name in at_port]
    ports = [oven.port[oven.device[name].port] for oven, _, at_port in ends for name in at_port]
    if any(port.frames != "rtu" or port.echoes for port in ports):
        raise ConfigError(
            "the simulator has no ASCII frames and no echo; take frames and echoes out of the copy"
        )
    if all(isinstance(device, ModbusDevice) for device in devices):
        return _modbus(ends, seed)
    if len(devices) > 1:
        raise ConfigError("a device that speaks lines must be alone on its port")
    oven, board, at_port = ends[0]
    if any(place.bit is not None or place.mask for place in oven.places() if place.device in at_port):
        raise ConfigError("the simulator has no bits in a line of text; give the copy a field for each")
    fields = {place.field or "fed": wire for place, wire in _wires(oven) if place.device in at_port}
    if isinstance(devices[0], TextDevice):
        return TextTalker(board, _language(devices[0]), fields, seed)
    fields = {name: wire for name, wire in fields.items() if wire.point != "fed"}
    named = isinstance(devices[0], LineDevice) and devices[0].name
    return Protocol(board, fields, seed, named or NAME)


def _modbus(ends: Sequence[End], seed: int) -> ModbusTalker:
    boards: dict[int, Board] = {}
    units: dict[int, WiredUnit] = {}
    for oven, board, at_port in ends:
        for address, unit in _units(oven, board, at_port).items():
            if address in units:
                raise ConfigError(f"{oven.name}: address {address} is taken by another oven on this line")
            boards[address], units[address] = board, unit
    return ModbusTalker(boards, units, seed=seed)


def _language(device: TextDevice) -> Language:
    if device.unasked:
        raise ConfigError("the simulator says nothing unasked; give the copy a request for it")
    return Language(
        asks=[(ask.send, ask.reply) for ask in device.ask],
        tells={name: (told.send, told.reply) for name, told in device.tell.items()},
        end=end_bytes(device.line_end),
        answer_end=end_bytes(device.answer_end or device.line_end),
        point=device.decimal,
        checksum=device.checksum,
        mark=device.checksum_mark,
        sums_after=device.checksum_after,
        echoes=device.echoes,
        banner=device.banner,
        open_word=device.open_words[0] if device.open_words else "open",
        who=device.who,
        prompt=device.prompt,
        words=device.words,
    )


def _units(oven: Oven, board: Board, at_port: Sequence[str]) -> dict[int, WiredUnit]:
    """Return what answers under each unit address of the file's devices on this line."""
    wires = _wires(oven)
    units: dict[int, list[Cell]] = {}
    for name in at_port:
        device = oven.device[name]
        if isinstance(device, ModbusDevice):
            mine = [_cell(place, wire) for place, wire in wires if place.device == name]
            units.setdefault(device.address, []).extend(mine)
    return {address: WiredUnit(board, cells) for address, cells in units.items()}


def _cell(place: Place, wire: Wire) -> Cell:
    return Cell(
        wire,
        place.table,
        place.register_no,
        place.format,
        place.word_order == "low first",
        place.byte_order == "little",
        place.bit,
        place.mask,
    )


def _wires(oven: Oven) -> list[tuple[Place, Wire]]:
    wires = [(place, _wire(name, place)) for name, place in oven.wired()]
    marks = [(mark, Wire("constant", on=mark.expect)) for mark in oven.identity]
    taken = {(place.device, place.where) for place, _ in wires}
    arms = [(arm, Wire("constant", output=True, on=arm.write)) for arm in oven.arm]
    return wires + marks + [(arm, wire) for arm, wire in arms if (arm.device, arm.where) not in taken]


def _wire(name: str, place: Place) -> Wire:
    _, _, rest = name.partition(".")
    point, _, what = rest.partition(".")
    match place:
        case _ if what == "exponent":
            return Wire("constant", on=round((EXPONENT - place.offset) / place.scale))
        case Heater():
            return _heater(place)
        case Output():
            return Wire(point, output=True, on=place.on, off=place.off, reads=_read(place))
        case DeadMan():
            return Wire(
                "fed", output=True, on=place.write, holds_s=place.drops_after_s, edge=place.then is not None,
                counts=place.counts_to is not None,
            )  # fmt: skip
        case Switch() if what == "back":
            return Wire(f"{point}-contact", inverted=place.inverted, reads=_told(place))
        case Switch():
            return Wire(point, broken=what == "fault", inverted=place.inverted, reads=_told(place))
        case Temperature():
            tenths = 0.1 if place.exponent else 1.0  # as EXPONENT says
            return Wire(
                point,
                unit="" if place.unit == "C" else place.unit,
                couple="K" if place.couple == "other" else place.couple,
                scale=place.scale * tenths,
                offset=place.offset,
                open_raw=float(place.open_values[0]) if place.open_values else None,
            )
    return Wire(point, scale=place.scale, offset=place.offset)


def _read(output: Output) -> tuple[float, float] | None:
    """Return what is read at an output that is off and on, where that is not what was written."""
    if output.reads_on is None and output.reads_off is None:
        return None
    off, on = (output.reads_off, output.off), (output.reads_on, output.on)
    return off[1] if off[0] is None else off[0], on[1] if on[0] is None else on[0]


def _told(switch: Switch) -> tuple[int, int] | None:
    """Return the numbers for no and yes of an input that has numbers of its own."""
    return (switch.no[0], switch.yes[0]) if switch.yes else None


def _heater(heater: Heater) -> Wire:
    point = {"switch": "heater", "pulse": "pulse", "duty": "duty", "set-point": "goal"}[heater.kind]
    drops = heater.link_loss == "drops"
    return Wire(
        point,
        output=True,
        unit="F" if heater.unit == "F" else "",
        scale=heater.scale,
        offset=heater.offset,
        on=heater.on,
        off=heater.off,
        reads=_read(heater),
        step=heater.step,
        holds_s=heater.holds_s or FOLLOWER_HOLDS_S,
        feeds_s=heater.holds_s or (FOLLOWER_HOLDS_S if drops else 0.0),
        read_feeds=heater.holds_s is None,
    )
