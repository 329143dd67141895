"""A device that does not answer as the oven file says: with which other settings does it?

Only reads; the port is borrowed from its owner for each try, so that an off has the next turn.
"""

import math
from collections.abc import Callable, Iterable, Iterator
from itertools import permutations, product
from typing import Any, NamedTuple

from kilnctl.clock import Clock
from kilnctl.config.device_keys import Device, ModbusDevice, Port, TextDevice
from kilnctl.config.places import Place
from kilnctl.config.port_path import is_network
from kilnctl.devices.bus import QUIET_S, Bus
from kilnctl.devices.checksums import KINDS
from kilnctl.devices.device import WiredDevice
from kilnctl.devices.device_factory import board
from kilnctl.devices.port import Line
from kilnctl.devices.probing.text_replies import as_keys, marks_of, sums_of
from kilnctl.errors import DeviceError, PortLost

BAUDS = (9600, 19200, 38400, 57600, 115200, 4800, 2400, 1200)
PARITIES = ("none", "even", "odd")
LINE_ENDS = ("LF", "CR", "CR LF")
PATIENCE_S = 2.0
TWICE = 2  # the first ends what a text board has heard of other lines

Hear = Callable[[WiredDevice, Place], DeviceError | None]


class Settings(NamedTuple):
    """Port and device with other keys than the file has; `keys` are those, as the file would say them."""

    keys: str
    device: Device
    port: Port


def working(
    name: str,
    device: Device,
    place: Place,
    owner: Bus,
    clock: Clock,
    opener: Callable[[Port, bool], Line],
    hear: Hear,
) -> str | None:
    """Return the keys with which a device answers, empty where none helps. `owner` has its port.

    None: it answers as written when it is asked again.
    """
    clock.pause(PATIENCE_S)  # what comes late now must not answer a later question
    return first_heard(name, _others(device, owner.port), place, owner, clock, opener, hear)


def first_heard(
    name: str,
    others: Iterable[Settings],
    place: Place,
    owner: Bus,
    clock: Clock,
    opener: Callable[[Port, bool], Line],
    hear: Hear,
) -> str | None:
    """Return the keys of the first of some settings with which a device answers, as `working` does."""
    for tried in others:
        bus = Bus(tried.port, clock, opener=opener)
        with owner.lent():
            try:
                bus.open()
                began_s = clock.real_s()
                heard = hear(board(name, tried.device, bus, clock), place) is None
                took_s = clock.real_s() - began_s - QUIET_S
            except PortLost:
                heard = False
            finally:
                bus.close()
        if heard and tried.keys:
            return tried.keys
        if heard:
            return None if took_s < owner.port.timeout_s else f'timeout = "{_roomy_s(took_s):g} s"'
    return ""


def summed_so(
    name: str,
    device: Device,
    place: Place,
    error: DeviceError,
    owner: Bus,
    clock: Clock,
    opener: Callable[[Port, bool], Line],
    hear: Hear,
) -> str:
    """Return the keys of a checksum with which a text board is heard, of those that its answer has."""
    if not isinstance(device, TextDevice):
        return ""
    tried = (with_keys(changed, device, owner.port) for changed in sums_of(str(error), device))
    return first_heard(name, tried, place, owner, clock, opener, hear) or ""


def _roomy_s(took_s: float) -> float:
    """Return twice what a reply took, in whole tenths of a second."""
    return math.ceil(20.0 * took_s) / 10.0


def _others(device: Device, port: Port) -> Iterator[Settings]:
    """Yield the likely ones first; last two line ends, of boards that take one and answer with another."""
    yield from _likely(device, port)
    if isinstance(device, TextDevice):
        yield from _ended(device, port, permutations(LINE_ENDS, 2))


def _likely(device: Device, port: Port) -> Iterator[Settings]:
    """Yield other settings of a device; without keys: the same with more patience."""
    yield Settings("", device, port.model_copy(update={"timeout_s": max(PATIENCE_S, port.timeout_s)}))
    if isinstance(device, TextDevice):
        yield from _ended(device, port, zip(LINE_ENDS, LINE_ENDS, strict=True))
        yield from (one for one in _summed(device, port) for _ in range(TWICE))
    if isinstance(device, ModbusDevice) and not port.path.startswith("tcp://"):
        yield from _framed(device, port)
    if is_network(port.path):
        return
    bits = 3 - port.stop_bits
    stops = f"stop_bits = {bits}"
    yield Settings(stops, device, port.model_copy(update={"stop_bits": bits}))
    for parity in PARITIES if isinstance(device, ModbusDevice) else (port.parity,):
        for baud in BAUDS:
            keys = (
                f'baud = {baud}, parity = "{parity}"'
                if isinstance(device, ModbusDevice)
                else f"baud = {baud}"
            )
            yield Settings(keys, device, port.model_copy(update={"baud": baud, "parity": parity}))


def _ended(device: TextDevice, port: Port, pairs: Iterable[tuple[str, str]]) -> Iterator[Settings]:
    """Yield other line ends, of what is sent and of the answers; each twice."""
    for end, answer in pairs:
        made = {"line_end": end, "answer_end": None if answer == end else answer}
        keys = ", ".join(f'{key} = "{value}"' for key, value in made.items() if value)
        yield from [Settings(keys, device.model_copy(update=made), port)] * TWICE


def _framed(device: ModbusDevice, port: Port) -> Iterator[Settings]:
    """Yield the other way to write Modbus, at the speed of the file."""
    other = "ascii" if port.frames == "rtu" else "rtu"
    yield Settings(f'frames = "{other}"', device, port.model_copy(update={"frames": other, "data_bits": 8}))
    if other == "ascii" and not is_network(port.path):
        seven = {"frames": other, "data_bits": 7, "parity": "even"}
        keys = 'frames = "ascii", data_bits = 7, parity = "even"'
        yield Settings(keys, device, port.model_copy(update=seven))


def _summed(device: TextDevice, port: Port) -> Iterator[Settings]:
    """Yield other checksums, also such as leave out how commands or answers begin: a board keeps silent."""
    sent, answered = marks_of(ask.send for ask in device.ask), marks_of(ask.reply for ask in device.ask)
    starts = dict.fromkeys(("", sent, "".join(dict.fromkeys(sent + answered)), answered))
    kinds = KINDS if device.checksum == "none" else (device.checksum,)
    for kind, start in product(kinds, starts):
        made = {"checksum": kind, "checksum_after": start}
        changed = {key: value for key, value in made.items() if value != getattr(device, key)}
        if changed:
            yield with_keys(changed, device, port)


def with_keys(changed: dict[str, Any], device: Device, port: Port) -> Settings:
    """Return the settings of a device with some of its keys changed."""
    return Settings(as_keys(changed), device.model_copy(update=changed), port)
