"""What a sensor of a cold oven shows beside the room; where that is wrong, the setting that would do it."""

from collections.abc import Callable

from kilnctl.config.wiring import Place, Temperature
from kilnctl.devices.contact import switch
from kilnctl.devices.modbus import decode
from kilnctl.devices.probing.diagnoses import Diagnosis, explain_temperature
from kilnctl.devices.signals import OPEN_RAW, power_of_ten
from kilnctl.errors import DeviceError, NoReply, PortLost, sentence

Read = Callable[[Place], float | DeviceError]


def explain_cold(name: str, place: Temperature, read: Read, room_c: float, registers: bool) -> Diagnosis:
    """Compare a cold sensor with the room; `registers`: its device has neighbours that can be read too."""
    raw = read(place)
    if isinstance(raw, NoReply | PortLost):
        return Diagnosis("unit and scale", False, sentence(raw))
    if raw in place.open_values or raw == OPEN_RAW or _says_broken(place, read):
        say = f"{name}: the device reports an open sensor. Look at its wire and terminals."
        return Diagnosis("open sensor", False, say)
    if place.exponent is not None:
        if isinstance(times := power_of_ten(place, read(place.exponent)), DeviceError):
            return Diagnosis("unit and scale", False, f"{name}.exponent: {times}")
        place = place.model_copy(update={"scale": place.scale * times})
    if not registers:
        value = None if isinstance(raw, DeviceError) else raw
        return explain_temperature(name, place, lambda other: value, room_c)
    words = _words_around(place, read)
    return explain_temperature(name, place, lambda other: _decoded(other, words), room_c)


def _says_broken(place: Temperature, read: Read) -> bool:
    return place.fault is not None and switch(place.fault, read(place.fault)) is True


def _words_around(place: Place, read: Read) -> dict[int, int]:
    """Read a register and its neighbours one by one; those that the device refuses are left out."""
    words = {}
    for at in range(max(0, place.register_no - 1), place.register_no + 3):
        raw = read(Place(device=place.device, table=place.table, register=at, format="uint16"))
        if not isinstance(raw, DeviceError):
            words[at] = int(raw)
    return words


def _decoded(place: Place, registers: dict[int, int]) -> float | None:
    numbers = range(place.register_no, place.register_no + place.registers)
    return decode(place, [registers[n] for n in numbers]) if all(n in registers for n in numbers) else None
