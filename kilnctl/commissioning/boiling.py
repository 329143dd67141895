"""Where water boils, and what a wrong type of thermocouple would show in it."""

import math

from kilnctl.config.oven import Oven
from kilnctl.devices.thermocouples import hot_c, millivolts

# Pressure over height: standard atmosphere, ISO 2533 (troposphere).
SEA_KPA, LAPSE_PER_M, POWER = 101.325, 2.25577e-5, 5.25588
# Vapour pressure of water from 1 to 100 degC, Antoine's equation (mm of mercury), as handbooks give it.
ANTOINE_A, ANTOINE_B, ANTOINE_C = 8.07131, 1730.63, 233.426
MMHG_PER_KPA = 7.50062
LETTERS = ("K", "J", "N", "T", "E")
NEAR_K = 3.0


def boiling_c(above_m: float) -> float:
    """Return where water boils (degC) at a height above the sea (m), in usual weather within 1 K."""
    mmhg = SEA_KPA * (1.0 - LAPSE_PER_M * above_m) ** POWER * MMHG_PER_KPA
    return ANTOINE_B / (ANTOINE_A - math.log10(mmhg)) - ANTOINE_C


def likelier(oven: Oven, read_c: float, true_c: float) -> str:
    """Say which couple would read so where the module converts for the file's one; empty where none would."""
    said = oven.signal.process.couple
    if said not in LETTERS or abs(read_c - true_c) <= NEAR_K:
        return ""
    room_c = oven.ambient_c
    for letter in LETTERS:
        shown_c = hot_c(said, millivolts(letter, true_c, room_c), room_c)
        if letter != said and shown_c is not None and abs(shown_c - read_c) <= NEAR_K:
            return f": a couple of type {letter} on a module for type {said} reads so"
    return ""
