"""Whether an output is on, as far as the wiring can tell: its own register, its read-back, or the element."""

from collections.abc import Callable

from kilnctl.config.oven import Oven
from kilnctl.config.places import Place
from kilnctl.config.wiring import Heater, Output
from kilnctl.devices.contact import switch
from kilnctl.devices.outputs import back_amount, back_is_on, off_value, reads_as_written
from kilnctl.devices.signals import number
from kilnctl.errors import DeviceError
from kilnctl.readings import LIVE_A

Read = Callable[[Place], float | DeviceError]


def heat_seen(oven: Oven, read: Read) -> bool | None:
    """Return whether the heat is on where the dead-man acts, None where it cannot be read."""
    if oven.seen_by_timer and oven.dead_man is not None and (contact := oven.dead_man.back) is not None:
        both = output_seen(oven.output.heater, read), switch(contact, read(contact))
        return None if None in both else all(both)
    return _live(oven, read) if oven.drops_at_the_element else output_seen(oven.output.heater, read)


def _live(oven: Oven, read: Read) -> bool | None:
    """Return what contact or current sensor at the element says."""
    contact, current = oven.signal.heater_live, oven.signal.current_a
    if contact is not None:
        return switch(contact, read(contact))
    found = None if current is None else number(current, read(current), 0.0).value
    return None if found is None else found > LIVE_A


def shown_amount(heater: Heater, read: Read) -> float | None:
    """Return the power or set-point that the place `back` of a heater shows, None where it is yes or no."""
    raw = None if heater.back is None else read(heater.back)
    return None if raw is None or isinstance(raw, DeviceError) else back_amount(heater, raw)


def number_said(name: str, output: Output, read: Read) -> str:
    """Say which number shows that an output is on, and where; empty where none can be read."""
    place = output if output.back is None else output.back
    raw, key = read(place), name if output.back is None else f"{name}.back"
    if isinstance(raw, DeviceError):
        return ""
    off = f", off is {off_value(output):g}" if output.back is None else ""
    return f"output.{key} ({place.where} of {place.device}) reads {raw:g}{off}. "


def output_seen(output: Output, read: Read) -> bool | None:
    """Return what a scan would say: where the output has a place `back`, that one counts."""
    raw = read(output if output.back is None else output.back)
    if output.back is not None:
        return back_is_on(output, raw)
    return None if isinstance(raw, DeviceError) else not reads_as_written(output, raw, off_value(output))
