"""Whoever confirms something proves to be at the machine: by the screen, or by the oven's lamp."""

from kilnctl.cli.terminal.ask_controller import take_over
from kilnctl.cli.terminal.console import asked_anew
from kilnctl.clock import Clock
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import OvenIO
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.link.start import Presence
from kilnctl.permits import presence
from kilnctl.processes.off_order import answering


def needed_here(oven: Oven) -> str:
    """Say early what this terminal will ask for before a heat, a reset, or a set-up step that heats."""
    if oven.simulated or not (why := presence.afar_now()):
        return ""
    shown_by = "lamp" if oven.output.lamp else "horn" if oven.output.horn else ""
    said = f"From this terminal you do not count as being at the machine: {why}."
    if shown_by:
        asked = "Heats, resets and steps that heat will ask here for the numbers that"
        return f"{said} {asked} its {shown_by} gives."
    none = (
        "Without a lamp or a horn in the oven file nothing heats from here, and the set-up's dead-man test "
        "and heater pulse stay open: use a text console of this computer or a window at its own seat, or put "
        "a lamp on a spare output, of this board or of one more"
    )
    return f"{said} {none} (`kilnctl oven change {oven.name} output.lamp` asks for either)."


def prove_with(oven: Oven, oven_io: OvenIO, clock: Clock) -> Presence:
    """Ask for the lamp's numbers; `oven_io` is connected. Raises RunRefused for a wrong answer.

    Returns by what the person was found to be at the machine.
    """
    if oven.simulated or presence.here_now():
        return "own screen"
    print("It is not certain that you are at this computer's own screen: look at the oven now.", flush=True)
    say = lambda line: print(line, flush=True)  # noqa: E731
    presence.prove(oven, oven_io, clock, asked_anew, say=say, begin=asked_anew)
    return "lamp"


def prove(oven: Oven, clock: Clock) -> Presence:
    """Open the oven's ports for a moment and ask for the lamp's numbers. Raises RunRefused, DeviceError.

    Who watches the oven while it cools lets go of it: a second heat was refused for that.
    """
    if oven.simulated or presence.here_now():
        return "own screen"
    take_over(oven.name)
    with answering(oven, clock) as buses:
        oven_io = open_oven_io(oven, clock, buses=buses)
        try:
            oven_io.connect()
            return prove_with(oven, oven_io, clock)
        finally:
            oven_io.close()
