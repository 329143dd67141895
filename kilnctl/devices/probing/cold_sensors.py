"""What a sensor of a cold oven shows beside the room; where that is wrong, the setting that would do it."""

import math
from collections.abc import Callable, Iterable
from itertools import product

from kilnctl.config.oven import Oven
from kilnctl.config.places import Place
from kilnctl.config.wiring import Temperature
from kilnctl.devices.contact import switch
from kilnctl.devices.languages.modbus import decode, encode
from kilnctl.devices.probing.cures import APART_K, Taken
from kilnctl.devices.probing.diagnoses import NEAR_K, Diagnosis, explain_temperature
from kilnctl.devices.signals import OPEN_RAW, power_of_ten
from kilnctl.errors import DeviceError, DeviceRefused, sentence
from kilnctl.units import c_from_f

ROOM_C = (-10.0, 45.0)  # what a sensor in a workshop may show that nothing heats

ORDER, ORDERS = ("word_order", "byte_order"), (("high first", "low first"), ("big", "little"))
LEAST = 0.05  # of the four orders of a float of a room's temperature all wrong ones lie below, or far above
REACH = 5  # registers: a number may take four

Read = Callable[[Place], float | DeviceError]


def explain_cold(
    name: str, place: Temperature, read: Read, room_c: float, registers: bool, taken: Taken = frozenset()
) -> Diagnosis:
    """Compare a cold sensor with the room; `registers`: its device has neighbours that can be read too.

    `taken` are the registers of the other signals, of which none is advised.
    """
    raw = read(place)
    if isinstance(raw, DeviceError) and not isinstance(raw, DeviceRefused):
        return Diagnosis("unit and scale", False, sentence(raw))
    if (found := open_sensor(name, place, read, registers, taken)) is not None:
        return found
    if place.exponent is not None:
        if isinstance(times := power_of_ten(place, read(place.exponent)), DeviceError):
            return Diagnosis("unit and scale", False, f"{name}.exponent: {times}")
        if turned := _turned(name, place, raw, times, room_c):
            return turned
        place = place.model_copy(update={"scale": place.scale * times})
    if not registers:
        value = None if isinstance(raw, DeviceError) else raw
        return explain_temperature(name, place, lambda other: value, room_c, taken)
    words = _words_around(place, read)
    return explain_temperature(name, place, lambda other: _decoded(other, words), room_c, taken)


def taken_beside(name: str, places: Iterable[tuple[str, Place]]) -> Taken:
    """Return the registers that a signal must not be sent to: the file gives them to another."""
    return frozenset((p.device, p.table, p.register_no) for other, p in places if other != name)


def turned_floats(oven: Oven, read: Read) -> list[Diagnosis]:
    """Return which decimal numbers make sense in another order only; that needs no thermometer."""
    found = []
    for name, place in oven.wired():
        if not isinstance(place, Temperature) or not place.is_float or place.exponent is not None:
            continue
        raw = read(place)
        if isinstance(raw, DeviceError) or math.isnan(raw) or raw in place.open_values or _may_be(place, raw):
            continue
        orders = [place.model_copy(update=dict(zip(ORDER, order, strict=True))) for order in product(*ORDERS)]
        right = [
            one for one in orders if not isinstance(there := read(one), DeviceError) and _may_be(one, there)
        ]
        if len(right) == 1:
            keys = ", ".join(f'{key} = "{getattr(right[0], key)}"' for key in ORDER)
            say = f"{name} reads {raw:.3g}, which no sensor of a cold oven shows; with {keys} it makes sense."
            found.append(Diagnosis("order", False, say))
    return found


def _may_be(place: Temperature, raw: float) -> bool:
    """True for what a sensor may show; a number in the wrong order lies far below or above it."""
    if not math.isfinite(raw) or abs(raw) < LEAST:
        return False
    shown_c = raw * place.scale + place.offset
    shown_c = c_from_f(shown_c) if place.unit == "F" else shown_c
    return place.unit == "mV" or place.low_c <= shown_c <= place.high_c


def open_sensor(
    name: str, place: Temperature, read: Read, registers: bool, taken: Taken = frozenset()
) -> Diagnosis | None:
    """Return which sensor its device calls open, and a neighbour that shows a room's temperature."""
    raw = read(place)
    if not (raw in place.open_values or raw == OPEN_RAW or _says_broken(place, read)):
        return None
    say = f"{name}: the device reports an open sensor. Look at its wire and terminals"
    for at in (place.registers, -place.registers) if registers else ():
        if place.register_no + at < 0 or (place.device, place.table, place.register_no + at) in taken:
            continue
        near = place.model_copy(update={"register_no": place.register_no + at})
        value = read(near)
        if isinstance(value, DeviceError) or value in place.open_values or value == 0:
            continue
        shown_c = value * place.scale + place.offset
        if ROOM_C[0] <= (c_from_f(shown_c) if place.unit == "F" else shown_c) <= ROOM_C[1]:
            other = f"register = {near.register_no} shows {shown_c:.1f}: is the sensor on that channel?"
            return Diagnosis("open sensor", False, f"{say}; {other}")
    return Diagnosis("open sensor", False, f"{say}.")


def open_sensors(
    places: Iterable[tuple[str, Place]], read: Read, has_registers: Callable[[str], bool]
) -> list[Diagnosis]:
    """Which sensors does their device call open, and has a neighbour what they lack?"""
    every = list(places)
    sensors = [(name, p) for name, p in every if isinstance(p, Temperature) and p.unit != "mV"]
    found = (
        open_sensor(name, place, read, has_registers(place.device), taken_beside(name, every))
        for name, place in sensors
    )
    return [one for one in found if one is not None]


def _turned(
    name: str, place: Temperature, raw: float | DeviceError, times: float, room_c: float
) -> Diagnosis | None:
    """Return that the exponent is counted the other way round, where only that shows the room."""
    if isinstance(raw, DeviceError) or place.exponent is None or times == 1.0 or place.unit == "mV":
        return None
    shown, other = (raw * place.scale * by + place.offset for by in (times, 1.0 / times))
    if place.unit == "F":
        shown, other = c_from_f(shown), c_from_f(other)
    if abs(shown - room_c) <= NEAR_K or abs(other - room_c) > APART_K:
        return None
    said = f"{name} shows {shown:.1f} °C in a room of {room_c:.0f} °C."
    cure = f"With exponent = {{ ..., scale = {-place.exponent.scale:g} }} it would show {other:.1f} °C"
    return Diagnosis("unit and scale", False, f"{said} {cure}: its register counts the other way.")


def _says_broken(place: Temperature, read: Read) -> bool:
    return place.fault is not None and switch(place.fault, read(place.fault)) is True


def _words_around(place: Place, read: Read) -> dict[int, int]:
    """Read a register and its neighbours one by one; those that the device refuses are left out."""
    words: dict[int, int] = {}
    for at in range(max(0, place.register_no - 1), place.register_no + REACH):
        raw = read(Place(device=place.device, table=place.table, register=at, format="uint16"))
        if not isinstance(raw, DeviceError):
            words[at] = int(raw)
    return words if place.register_no in words else words | _whole_numbers(place, read)


def _whole_numbers(place: Place, read: Read) -> dict[int, int]:
    """Read a number and its neighbours as they are: some devices refuse the half of one."""
    words: dict[int, int] = {}
    for at in range(max(0, place.register_no - place.registers), place.register_no + REACH):
        there = place.model_copy(update={"register_no": at})
        if not isinstance(raw := read(there), DeviceError):
            words |= dict(enumerate(encode(there, raw if place.is_float else int(raw)), at))
    return words


def _decoded(place: Place, registers: dict[int, int]) -> float | None:
    numbers = range(place.register_no, place.register_no + place.registers)
    return decode(place, [registers[n] for n in numbers]) if all(n in registers for n in numbers) else None
