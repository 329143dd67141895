"""What a set-up step found out, in the sentence that a maker needs; and the judgements that need no wire."""

from collections.abc import Mapping
from dataclasses import dataclass

from kilnctl.config.device_keys import Device, ModbusDevice, Port, TextDevice
from kilnctl.config.places import Place
from kilnctl.config.port_path import is_network
from kilnctl.config.wiring import Heater, Temperature
from kilnctl.devices.library_errors import STRAY
from kilnctl.devices.network import HANGS_UP, OTHER_UNIT
from kilnctl.devices.outputs import amount_said
from kilnctl.devices.probing.cures import APART_K, RawOf, Taken, beside, cure, degc, free
from kilnctl.devices.probing.text_replies import missing_key
from kilnctl.errors import DeviceError, PortLost

NEAR_K = 8.0  # a cold sensor this far from the room's thermometer is refused
STARTS_S = 10.0  # a board that has just got power may take so long to answer
# Terminals and a panel's air are as warm as their box makes them (common practice, no single source).
WARMED, BOX_K = ("signal.cold_junction", "signal.enclosure"), 15.0


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """One thing found. `kind` is the step, `good` whether it is as it must be, `say` one or two sentences.

    `off_by_k` is how far a cold sensor lies from the room's thermometer.
    """

    kind: str
    good: bool
    say: str
    off_by_k: float | None = None


def explain_temperature(
    name: str, place: Temperature, raw_of: RawOf, room_c: float, taken: Taken = frozenset()
) -> Diagnosis:
    """Judge a cold sensor against the room and, where it is absurd, say which keys would make sense of it.

    `raw_of` gives the raw number that a changed place would have, None where the device has no such register.
    A register of `taken` is another signal's, and never the cure.
    """
    shown_c = degc(place, raw_of, {})
    if shown_c is None:
        return _shifted(name, place, raw_of, taken)
    said = f"{name} shows {_short(shown_c)} °C in a room of {room_c:.0f} °C."
    if name in WARMED and -APART_K <= shown_c - room_c <= BOX_K:
        return Diagnosis("unit and scale", True, said)
    if abs(shown_c - room_c) <= NEAR_K:
        if name in WARMED:
            cold = " It stands in a box, which warms it: no sound one is so much colder than the room."
            return Diagnosis("unit and scale", False, said + cold)
        other = beside(place, raw_of, room_c, taken) if abs(shown_c - room_c) > APART_K else ""
        return Diagnosis("unit and scale", not other, said + other, shown_c - room_c)
    return Diagnosis("unit and scale", False, f"{said} {cure(place, raw_of, room_c, shown_c, taken)}")


def _shifted(name: str, place: Temperature, raw_of: RawOf, taken: Taken) -> Diagnosis:
    near = place.model_copy(update={"register_no": place.register_no - 1})
    may_be = near.register_no >= 0 and free(near, near.register_no, taken)
    return missing_place(name, place, near if may_be and raw_of(near) is not None else None)


def exchanged(name: str, other: str) -> Diagnosis:
    """Say that another device of the file holds what this one should."""
    say = f"{other} has what {name} should have: are their two addresses exchanged, here or at the switches?"
    return Diagnosis("address", False, say)


def perhaps_there(name: str, device: Device) -> Diagnosis:
    """Say that a silent device may be the second one at an address whose answers are spoilt."""
    at = f" at address {device.address}" if isinstance(device, ModbusDevice) else ""
    say = f"{name}: nothing answers{at}: perhaps it is the second device at the address that is damaged."
    return Diagnosis("answers", False, say)


def silent_at(nobody: str, beside: bool) -> Diagnosis:
    """Say what to look at where an address is silent; `beside`: another device on the line answers."""
    hint = "Check its power, swap the two data wires A and B, check its address switches."
    if beside:
        hint = (
            "Another device on the line does, so speed and parity are right: check its power, its two "
            "wires (A and B swapped there?), its address switches."
        )
    return Diagnosis("answers", False, f"{nobody}, at any usual speed and parity. {hint}")


def busy(raw: DeviceError) -> Diagnosis:
    """Say that a device has no time yet, which is no sign of a wrong place or of another device."""
    cure = "wait until it has started and nobody else has it, then do this step again"
    return Diagnosis("busy", False, f"{raw}; {cure}.")


def missing_place(name: str, place: Place, near: Place | None) -> Diagnosis:
    """Say that the device has no such place; `near` is one that it has, by another number or table."""
    said = f"{name}: the device has no {place.where}"
    if near is None:
        return Diagnosis("numbering", False, f"{said}. Look at its register table, and at the kind of table.")
    if near.format != place.format:
        why = 'it answers where two are asked for: its numbers take two; write format = "float32" or "int32"'
        return Diagnosis("format", False, f"{name}: no single register at {place.where}, but {why}.")
    if near.table != place.table:
        kinds = "a coil switches, a discrete says yes or no, an input measures, a holding can be set"
        why = f'try table = "{near.table}" ({kinds})'
        return Diagnosis("table", False, f"{said}, but {near.where}: {why}.")
    why = "Many tables count from 1, or print 30001 and 40001; on the wire counting starts at 0"
    return Diagnosis(
        "numbering", False, f"{said}, but {near.where}. {why}: try register = {near.register_no}."
    )


def unheard(error: DeviceError, device: Device, port: Port) -> str:
    """Return what to look at when something came, or the port went, in place of an answer."""
    if isinstance(error, PortLost) and str(error).endswith(HANGS_UP):
        return ""
    if isinstance(error, PortLost) and is_network(port.path):
        return (
            "Many boards accept one connection at a time: check whether another program or computer has it."
        )
    if isinstance(error, PortLost):
        return "Check power, wires and speed."
    if (unit := OTHER_UNIT.search(str(error))) and int(unit[1]):
        return f"If it is the right device, write address = {unit[1]}; else look at the address in the path."
    if is_network(port.path) and not isinstance(device, TextDevice):
        return "Is it the right device? Check address, port and unit number in its settings."
    if str(error).endswith(STRAY):
        return (
            "The line floats while nobody drives it: connect its bias resistors (many adapters have a switch "
            "for them), and 120 ohm at both of its ends."
        )
    if not isinstance(device, TextDevice):
        return "Two devices with one address, a loose or unterminated line, or the wrong parity."
    return missing_key(str(error), device)


def _short(value: float) -> str:
    return f"{value:.1f}" if abs(value) < 1e5 else f"{value:.3g}"


def kept_set_point(raw: float | DeviceError, park: float) -> Diagnosis:
    """Say that an instrument came up with another set-point than the one that it is parked at."""
    if not isinstance(raw, DeviceError) and raw < park:
        say = f"The instrument came up with the set-point {raw:g}, which is below park ({park:g}):"
        why = "does the file have its unit and scale? Compare output.heater with the instrument's display"
        return Diagnosis("power-up state", False, f"{say} {why}.")
    shown = raw if isinstance(raw, DeviceError) else f"{raw:g}"
    where = f"not with park ({park:g}) as before its supply went"
    say = f"The instrument came up with the set-point {shown}, {where}:"
    why = "it has a lowest set-point of its own, or comes up with one that it does not store"
    hint = (
        "Nothing tells whether it heats then: if it comes up in stand-by, write the place that shows that "
        "(its mode, its output) as back of output.heater. If it heats, change that in the instrument. A "
        "set-point that it always comes up with may be park itself, where it is 40 °C or less and the oven "
        "may be as warm"
    )
    return Diagnosis("power-up state", False, f"{say} {why}. {hint}.")


def read_so(amount: float, heater: Heater) -> str:
    """Say which number `back` shows of a heater that takes an amount, beside the number of off."""
    return f"output.heater.{amount_said(heater, amount)}. "


def judge_power_up(outputs: Mapping[str, bool | None], why_on: str = "") -> Diagnosis:
    """Judge what the outputs were right after the board got power, before anything was sent.

    `why_on` is what is said where one of them is on, with the number that was read.
    """
    on = [name for name, state in outputs.items() if state]
    unknown = [name for name, state in outputs.items() if state is None]
    if on:
        return Diagnosis("power-up state", False, f"{' and '.join(on)} came up ON. {why_on}".rstrip())
    if unknown:
        say = f"{' and '.join(unknown)} could not be read for {STARTS_S:.0f} s after power-up."
        hint = "Is the board's supply on again? Look at the plug of its data line; then do this step again."
        return Diagnosis("power-up state", False, f"{say} {hint}")
    return Diagnosis("power-up state", True, "Every output came up off.")


def why_on(heater: Heater) -> str:
    """Return what a board that comes up with its outputs on means, and what to look at."""
    if heater.kind == "duty":
        own = (
            "Is it an instrument that regulates to a set-point of its own when the line is silent? "
            "Park that set-point low"
        )
        return f"{own}. Otherwise it heats after a power cut: do not use it."
    say = "A board that heats after a power cut must not be used for this. Look for its setting of the state"
    if (heater.on, heater.off) == (1, 0) and heater.kind == "switch":
        negative = "Only where its list says negative logic (a 0 switches on): write on = 0, off = 1."
        return f"{say} after power-up. {negative}"
    return f"{say} after power-up."
