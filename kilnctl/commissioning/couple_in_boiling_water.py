"""What a wrong type of thermocouple would show in boiling water."""

from kilnctl.config.oven import Oven
from kilnctl.devices.thermocouples import shown_c

LETTERS = ("K", "J", "N", "T", "E")
NEAR_K = 3.0


def likelier(oven: Oven, read_c: float, true_c: float) -> str:
    """Say which couple would read so where the module converts for the file's one; empty where none would."""
    said = oven.signal.process.couple
    if said not in LETTERS or abs(read_c - true_c) <= NEAR_K:
        return ""
    room_c = oven.ambient_c
    for letter in LETTERS:
        would_c = shown_c(letter, said, true_c, room_c)
        if letter != said and would_c is not None and abs(would_c - read_c) <= NEAR_K:
            return f": a couple of type {letter} on a module for type {said} reads so"
    return ""
