"""What a set-up step found out, in the sentence that a maker needs; and the judgements that need no wire."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from kilnctl.config.device_keys import Device, ModbusDevice, Port, TextDevice
from kilnctl.config.places import Place
from kilnctl.config.port_path import is_network
from kilnctl.config.wiring import Heater, Temperature
from kilnctl.devices.library_errors import STRAY
from kilnctl.devices.network import HANGS_UP, OTHER_UNIT
from kilnctl.devices.outputs import amount_said
from kilnctl.devices.probing.text_replies import missing_key
from kilnctl.errors import DeviceError, PortLost
from kilnctl.units import c_from_f

NEAR_K = 8.0  # a cold sensor this far from the room's thermometer is refused
STILL_K = 1.0
KELVIN = 273.15
REGISTER_K = 5.0  # so much nearer to the room another register must be than another key
STARTS_S = 10.0  # a board that has just got power may take so long to answer
APART_K = 3.0  # more than a sound pair shows; the cold check refuses it too
# Terminals and a panel's air are as warm as their box makes them (common practice, no single source).
WARMED, BOX_K = ("signal.cold_junction", "signal.enclosure"), 15.0


RawOf = Callable[[Temperature], float | None]
Taken = frozenset[tuple[str, str, int]]


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """One thing found. `kind` is the step, `good` whether it is as it must be, `say` one or two sentences.

    `off_by_k` is how far a cold sensor lies from the room's thermometer.
    """

    kind: str
    good: bool
    say: str
    off_by_k: float | None = None


@dataclass(frozen=True, slots=True)
class _Meaning:
    """One way to read some registers: the value in degC and what the oven file would have to say for it."""

    value_c: float
    keys: dict[str, object]


def explain_temperature(
    name: str, place: Temperature, raw_of: RawOf, room_c: float, taken: Taken = frozenset()
) -> Diagnosis:
    """Judge a cold sensor against the room and, where it is absurd, say which keys would make sense of it.

    `raw_of` gives the raw number that a changed place would have, None where the device has no such register.
    A register of `taken` is another signal's, and never the cure.
    """
    shown_c = _degc(place, raw_of, {})
    if shown_c is None:
        return _shifted(name, place, raw_of, taken)
    said = f"{name} shows {_short(shown_c)} °C in a room of {room_c:.0f} °C."
    if name in WARMED and -APART_K <= shown_c - room_c <= BOX_K:
        return Diagnosis("unit and scale", True, said)
    if abs(shown_c - room_c) <= NEAR_K:
        if name in WARMED:
            cold = " It stands in a box, which warms it: no sound one is so much colder than the room."
            return Diagnosis("unit and scale", False, said + cold)
        beside = _beside(place, raw_of, room_c, taken) if abs(shown_c - room_c) > APART_K else ""
        return Diagnosis("unit and scale", not beside, said + beside, shown_c - room_c)
    return Diagnosis("unit and scale", False, f"{said} {_cure(place, raw_of, room_c, shown_c, taken)}")


def _cure(place: Temperature, raw_of: RawOf, room_c: float, shown_c: float, taken: Taken) -> str:
    """Return which keys would make sense of an absurd number."""
    found = [
        m for m in _meanings(place, raw_of)
        if abs(m.value_c - room_c) <= NEAR_K and _free(place, m.keys.get("register"), taken)
    ]  # fmt: skip
    by_one_key = any(len(m.keys) == 1 for m in found)
    if not by_one_key and place.unit == "C" and abs(shown_c - KELVIN - room_c) <= NEAR_K:
        cure = f"With offset = {place.offset - KELVIN:g} it would show {shown_c - KELVIN:.1f} °C"
        return f"{cure}: it sends kelvins."
    if not found:
        return "No other order, unit or scale makes sense of it: check sensor, terminals and register number."
    # An order of words or bytes before all, and another register last but where it is much nearer: what lies
    # between two values passes for one.
    orders = {"word_order", "byte_order"}

    def doubt(m: _Meaning) -> tuple[int, bool, float]:
        further_k = REGISTER_K if "register" in m.keys else 0.0
        return len(m.keys), not m.keys.keys() <= orders, abs(m.value_c - room_c) + further_k

    best = min(found, key=doubt)
    keys = ", ".join(f"{key} = {_toml(value)}" for key, value in best.keys.items())
    return f"With {keys} it would show {best.value_c:.1f} °C."


def _free(place: Temperature, register: object, taken: Taken) -> bool:
    return (place.device, place.table, register) not in taken


def _beside(place: Temperature, raw_of: RawOf, room_c: float, taken: Taken) -> str:
    """Return which neighbour shows the room better: a module's own warmth passes for a warm sensor."""
    for at in (-1, 1):
        near = place.model_copy(update={"register_no": place.register_no + at})
        if near.register_no < 0 or not _free(near, near.register_no, taken):
            continue
        value_c = _degc(near, raw_of, {})
        if value_c is not None and abs(value_c - room_c) <= STILL_K:
            number = f"With register = {near.register_no} it would show {value_c:.1f} °C"
            return f" {number}. If that is not it, give sensor and thermometer an hour."
    return ""


def _shifted(name: str, place: Temperature, raw_of: RawOf, taken: Taken) -> Diagnosis:
    near = place.model_copy(update={"register_no": place.register_no - 1})
    free = near.register_no >= 0 and _free(near, near.register_no, taken)
    return missing_place(name, place, near if free and raw_of(near) is not None else None)


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


def _meanings(place: Temperature, raw_of: RawOf) -> Iterator[_Meaning]:
    orders = tuple(product(("high first", "low first"), ("big", "little")))
    forms = ("int16", "uint16", "int32", "float32", "float64")
    scales = (place.scale, 1.0, 0.1, 0.01, 10.0)
    for at, form, order, unit, scale in product((0, -1, 1), forms, orders, ("C", "F"), scales):
        wanted = {
            "register_no": place.register_no + at,
            "format": form,
            "word_order": order[0],
            "byte_order": order[1],
            "unit": unit,
            "scale": scale,
        }
        changed = {key: value for key, value in wanted.items() if value != getattr(place, key)}
        value_c = _degc(place, raw_of, changed)
        if value_c is not None:
            yield _Meaning(value_c, {key.removesuffix("_no"): value for key, value in changed.items()})


def _degc(place: Temperature, raw_of: RawOf, changed: Mapping[str, object]) -> float | None:
    other = place.model_copy(update=changed)
    raw = raw_of(other)
    if raw is None:
        return None
    value = raw * other.scale + other.offset
    return c_from_f(value) if other.unit == "F" else value


def _short(value: float) -> str:
    return f"{value:.1f}" if abs(value) < 1e5 else f"{value:.3g}"


def _toml(value: object) -> str:
    return (
        f'"{value}"' if isinstance(value, str) else f"{value:g}" if isinstance(value, float) else str(value)
    )


def kept_set_point(raw: float | DeviceError, park: float) -> Diagnosis:
    """Say that an instrument came up with another set-point than the one that it is parked at."""
    if not isinstance(raw, DeviceError) and raw < park:
        say = f"The instrument came up with the set-point {raw:g}, which is below park ({park:g}):"
        why = "does the file have its unit and scale? Compare output.heater with the instrument's display"
        return Diagnosis("power-up state", False, f"{say} {why}.")
    say = f"The instrument came up with the set-point {raw}, not with park ({park:g}), and heats by itself:"
    why = "it has a lowest set-point of its own, or keeps the last one"
    hint = (
        "Change that in the instrument, or use the set-point register that it does not store. One that it "
        "always comes up with may be park itself, where it is 40 °C or less and the oven may be as warm"
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
