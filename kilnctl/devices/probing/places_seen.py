"""Has each device the coils and registers that the oven file reads? Where not, where they may be instead."""

from collections.abc import Callable

from kilnctl.config.device_keys import ModbusDevice
from kilnctl.config.oven import Oven
from kilnctl.config.places import Place
from kilnctl.config.wiring import Written
from kilnctl.devices.probing.cold_sensors import Read, open_sensors
from kilnctl.devices.probing.diagnoses import Diagnosis, busy, exchanged, missing_place
from kilnctl.errors import DeviceBusy, DeviceError, DeviceRefused

TABLES, WRITTEN_TABLES = ("input", "holding", "discrete", "coil"), ("coil", "holding")
CALLERS = ("output.horn", "output.lamp")


def places_seen(oven: Oven, read: Read) -> list[Diagnosis]:
    """Return which places of an oven's file no device has, by reading each; one line where all are there."""
    wired = [(name, place) for name, place in oven.wired() if name not in (*CALLERS, "dead_man")]
    ticked = [(name, place) for name, place in wired if getattr(place, "back", None) is None]
    raws = [(name, place, read(place)) for name, place in ticked]
    missing = [(name, place, raw) for name, place, raw in raws if isinstance(raw, DeviceRefused)]
    whole = f"Every one of {len(ticked)} signals and outputs that are read in a heat can be read."
    unread = [name for name, _ in oven.wired() if name in CALLERS]
    whole += (
        f" {' and '.join(unread)}, only written, {'is' if len(unread) == 1 else 'are'} not among them."
        if unread
        else ""
    )
    return (
        [_missing(oven, *one, read) for one in missing]
        or _callers_counted_from_one(oven, read)
        or [
            *open_sensors(ticked, read, lambda name: isinstance(oven.device[name], ModbusDevice)),
            Diagnosis("places", True, whole),
        ]
    )


def who_has(oven: Oven, place: Place, read: Read, fits: Callable[[float], bool]) -> str:
    """Return which other Modbus device of the file has a place that this one lacks, empty for none."""
    for name, device in oven.device.items():
        if name != place.device and isinstance(device, ModbusDevice) and not place.field:
            raw = read(place.model_copy(update={"device": name}))
            if not isinstance(raw, DeviceError) and fits(raw):
                return name
    return ""


def _missing(oven: Oven, name: str, place: Place, raw: DeviceError, read: Read) -> Diagnosis:
    if isinstance(raw, DeviceBusy):
        return busy(raw)
    near = _near(place, read)
    other = "" if near is not None else who_has(oven, place, read, lambda _: True)
    return exchanged(place.device, other) if other else missing_place(name, place, near)


def _callers_counted_from_one(oven: Oven, read: Read) -> list[Diagnosis]:
    """Return horn or lamp where the device has the coil before theirs, and not theirs.

    Many a board lets nothing be read there: that says nothing.
    """
    found = []
    for name, place in oven.wired():
        if name not in CALLERS or not place.says("register_no"):
            continue
        raw = read(place)
        if not isinstance(raw, DeviceRefused) or isinstance(raw, DeviceBusy):
            continue
        near = _near(place, read)
        if near is not None and near.table == place.table:
            found.append(missing_place(name, place, near))
    return found


def _near(place: Place, read: Read) -> Place | None:
    """Return where a value may be that is not at its place: one number lower, or in another table."""
    if place.field:
        return None
    tables = WRITTEN_TABLES if isinstance(place, Written) else TABLES
    wide = place.registers == 1 and not place.bits_table and place.bit is None
    near: list[dict[str, object]] = [{"format": "float32"}] if wide else []  # some refuse half a number
    near += [{"register_no": place.register_no - 1}] if place.register_no else []
    near += [{"table": table} for table in tables if table != place.table]
    tried = (place.model_copy(update=one) for one in near)
    return next((one for one in tried if not isinstance(read(one), DeviceError)), None)
