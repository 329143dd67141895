"""Looking at the wires before any heat: every finding in the sentence that a maker needs."""

from collections.abc import Iterable

from kilnctl.commissioning.operator import Person
from kilnctl.config.abilities import DEAD_MAN_S
from kilnctl.config.device_keys import ModbusDevice
from kilnctl.config.oven import Oven
from kilnctl.config.port_path import is_network
from kilnctl.devices.probing.diagnoses import Diagnosis
from kilnctl.devices.probing.probe import ADDRESSES, Probe

NOT_CHECKED = "The state after power-up was not checked."
NEVER_OFF = (
    "{} still answers: its supply was never off. Where its data line feeds it too (USB), pull that plug as "
    "well, and plug it in again when the supply is on; then do this step again."
)
RESTORES = (
    "They were off before, so this look cannot tell what follows a power cut in a heat. By the board's list, "
    "are its outputs off whatever they were, after its supply comes back? n: they are as they were last "
    "written, or nobody knows."
)
BEHIND_A_TIMER = (
    "After a power cut in a heat the output may come back on. Only the timer relay, which nobody feeds "
    "then, stands before the heat until kilnctl is there again: the drop test and the dead-man test prove it."
)
DROPS_ANEW = (
    f"Does the board's own watchdog, which it keeps without power, drop them by itself after that, within "
    f"{DEAD_MAN_S:.0f} s, though nothing is written?"
)
DROPPED_ANEW = "After a power cut its outputs may come back on; its own watchdog drops them again."
HEATS_BY_ITSELF = (
    "After a power cut in a heat the heat may come back with the supply, and nothing switches it off until "
    "kilnctl is there again: set the board so that its outputs come up off, or put a timer relay behind it "
    "(`kilnctl guide timer-relay`)."
)
NO_SET_POINT = "Does it show no set-point at all, as in stand-by?"
LATER = (
    "Not compared: the display shows no set-point in stand-by. The heater pulse says what it must show then; "
    "look at it there."
)


def check_bus(probe: Probe, person: Person, addresses: Iterable[int] = ADDRESSES) -> list[Diagnosis]:
    """Ask the bus all that can be asked without switching anything on; stop where the rest makes no sense."""
    found = _told(probe.ports(), person)
    if not all(f.good for f in found):
        return found
    found += _told(probe.echo(), person)
    if not all(f.good for f in found):
        return found  # an echo answers every question, so that nothing else can be believed
    others = " If one does not answer, other speeds and parities are tried, which takes a while."
    person.say(f"  Asking every device.{others if _tries_settings(probe.oven) else ''}")
    for look_at in (probe.answers, probe.identities, probe.places):
        found += _told(look_at(), person)
        if not all(f.good for f in found):
            return found  # what is somewhere else cannot be judged
    found += [_as_it_is(person, *one) for one in probe.switches()]
    if not all(f.good for f in found):
        return found
    if parked := probe.parked_first():
        person.say(f"  {parked}")
    if not person.key(f"Switch the board's supply off{_which(probe.oven)}, and leave it off. Is it off?"):
        return [*found, Diagnosis("power-up state", False, NOT_CHECKED)]
    if answer := probe.still_answer():
        return found + _told(
            [Diagnosis("power-up state", False, NEVER_OFF.format(" and ".join(answer)))], person
        )
    if not person.key("Wait five seconds, then switch the supply on again. Done?"):
        return [*found, Diagnosis("power-up state", False, NOT_CHECKED)]
    found += _came_up(probe, person)
    if not _has_addresses(probe.oven):
        return found
    person.say("  Looking for other devices at the first addresses; this takes some seconds.")
    return found + _told(probe.strangers(addresses), person)


def _came_up(probe: Probe, person: Person) -> list[Diagnosis]:
    """Look at the outputs after power-up, and what an instrument makes of a set-point."""
    found = _told([probe.power_up()], person)
    if found[-1].good and probe.oven.output.heater.kind != "set-point":
        found += _restored(probe.oven, person)
    if found[-1].good and (low := probe.low_set_point()):
        found += _shown(probe, person, low)
    return found


def _restored(oven: Oven, person: Person) -> list[Diagnosis]:
    """Ask what follows a power cut with the heat on: outputs that were off come up off at any board."""
    if person.key(RESTORES):
        return []
    if oven.timer:
        found = Diagnosis("power-up state", True, BEHIND_A_TIMER)
    elif oven.has_dead_man and person.key(DROPS_ANEW):
        found = Diagnosis("power-up state", True, DROPPED_ANEW)
    else:
        found = Diagnosis("power-up state", False, HEATS_BY_ITSELF)
    return _told([found], person)


def _which(oven: Oven) -> str:
    """Return which board is meant where there are several: each that switches heat."""
    outputs = (oven.output.heater, oven.output.contactor)
    names = dict.fromkeys(output.device for output in outputs if output is not None)
    return f" (of {' and '.join(names)}, which switches the heat)" if len(oven.device) > 1 else ""


def _tries_settings(oven: Oven) -> bool:
    """True where a port has a speed and a parity, which a silent device may have otherwise."""
    return not all(is_network(port.path) for port in oven.port.values())


def _has_addresses(oven: Oven) -> bool:
    """True where other devices may be at other addresses: a text board is alone on its line."""
    return any(isinstance(device, ModbusDevice) for device in oven.device.values())


def _as_it_is(person: Person, name: str, state: str, cure: str) -> Diagnosis:
    """Ask whether a switch tells what is so; no wire shows what a hand has done."""
    if person.key(f"{name} says: {state}. Is that right?"):
        return Diagnosis("switch", True, f"{name} reports it correctly.")
    wrong = f"{name} is inverted, or another switch: write {cure} there, or check its wire."
    return _told([Diagnosis("switch", False, wrong)], person)[0]


def _shown(probe: Probe, person: Person, low: str) -> list[Diagnosis]:
    """Ask what the instrument makes of a number: tenths taken for whole degrees are ten times the heat."""
    try:
        so = person.key(f"The instrument's set-point is {low} now. Does its own display say so?")
        hidden = not so and person.key(NO_SET_POINT)
    finally:
        parked = probe.park()  # also where the person stops here
    found = [Diagnosis("set-point", True, "The instrument understands set-points as the file means them.")]
    if hidden:
        found = [Diagnosis("set-point", True, LATER)]
    elif not so:
        wrong = "The instrument reads its set-point in another scale or unit: change scale or unit of"
        found = [Diagnosis("set-point", False, f"{wrong} output.heater so that its display agrees.")]
    if not parked:
        found.append(Diagnosis("set-point", False, "The set-point could not be parked again: isolate."))
    return _told(found, person)


def cold(probe: Probe, person: Person, room_c: float) -> list[Diagnosis]:
    """Compare every sensor with the room's thermometer; absurd values are explained."""
    return _told(probe.temperatures(room_c), person)


def _told(findings: list[Diagnosis], person: Person) -> list[Diagnosis]:
    for finding in findings:
        person.say(f"  {'ok   ' if finding.good else 'WRONG'} {finding.say}")
    return findings
