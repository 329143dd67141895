"""How a device wants to be spoken to: with a pause between two messages, or as one that talks by itself."""

import json
import re
from collections.abc import Callable

from kilnctl.clock import Clock
from kilnctl.config.device_keys import Device, TextDevice
from kilnctl.config.oven import Oven
from kilnctl.errors import DeviceError

PAIRS, TOO_MANY = 3, 2
PAUSES_S, REST_S = (0.02, 0.05, 0.1, 0.25), 0.3
LONGEST_GAP_S = 0.1  # as the oven file allows: an off waits for it before each word
TOO_SLOW = "too long for an off; no heat with this board"
LISTENS_S = 1.2
SHOWN, MOST_SHOWN, LONGEST_SHOWN = 60, 6, 16
CURES_OF_LINES = (
    "Where they are the rest of an answer, write them into its reply too, \\n before each; where the board "
    "says them by itself, write their beginning as unasked; where it says them after its start, as banner"
)
CURES_OF_FRAMES = (
    "Is another master on the line, a second program, or two devices with one address? This computer must be "
    "alone there"
)

Hear = Callable[[], DeviceError | None]


def needs_gap(name: str, hear: Hear, clock: Clock) -> str:
    """Say which pause a device needs before a message that follows another; empty where it needs none."""
    missed = 0
    for _ in range(PAIRS):
        clock.pause(REST_S)
        if hear() is not None:
            return ""  # it misses others too
        missed += hear() is not None
    if missed < TOO_MANY:
        return ""
    for pause_s in PAUSES_S:
        clock.pause(REST_S)
        if all(_heard_after(pause_s, hear, clock) for _ in range(2 * PAIRS)):
            if pause_s > LONGEST_GAP_S:
                return f"{name} misses what follows its answer within {LONGEST_GAP_S:g} s: {TOO_SLOW}"
            gap = f"{min(2000 * pause_s, 1000 * LONGEST_GAP_S):.0f} ms"
            return f'{name} misses what follows its answer at once: write gap = "{gap}" at its port.'
    return ""


def _heard_after(pause_s: float, hear: Hear, clock: Clock) -> bool:
    clock.pause(pause_s)
    return hear() is None


def talks(name: str, heard: bytes, device: Device) -> str:
    """Say what to write for a device from which something came though nobody had asked; empty for nothing."""
    text = heard.decode("ascii", errors="replace").strip("\r\n\0")
    lines = [line for line in text.replace("\r", "\n").split("\n") if line]
    if not lines:
        return ""
    known = device.unasked if isinstance(device, TextDevice) else ""
    new = [line for line in lines[-2:] if not known or not line.startswith(known)]
    if not new or (known and len(lines) == len(new) == 1):  # a line that is cut in its middle
        return ""
    said = f"{name}: {new[-1][:SHOWN]!r} came though nobody had asked"
    if isinstance(device, TextDevice):
        return f"{said}. If the board says such lines by itself, write their beginning as unasked."
    return f"{said}: is another master on the line? It must be alone."


def unasked_for(oven: Oven, data: bytes) -> str:
    """Say what came though nobody had asked for it, and what cures that: keys of a text board, else wires."""
    speaks = any(isinstance(one, TextDevice) for one in oven.device.values())
    if speaks and re.fullmatch(rb"[\r\n\t -~]+", data):
        text = data.decode("ascii").strip("\r\n")
        lines = [repr(one[:SHOWN]) for one in re.split(r"[\r\n]+", text)[-MOST_SHOWN:]]
        return f"lines that nobody asked for: {', '.join(lines)}. {CURES_OF_LINES}"
    shown = data[-LONGEST_SHOWN:].hex(" ").upper() or "not kept"
    return f"frames that nobody asked for, last {shown}. {CURES_OF_FRAMES}"


def starts_anew(name: str, heard: bytes) -> str:
    """Say what to write for a board that answers only after words that it says by itself."""
    words = heard.decode("ascii", errors="replace").strip("\r\n\0").splitlines() or [""]
    first = words[-1].strip()[:SHOWN]
    why = f"{name} starts again when its port is opened, and hears nothing until then"
    return f'{why}: write banner = {json.dumps(first)}, banner_wait = "3 s".'
