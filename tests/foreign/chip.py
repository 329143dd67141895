"""The reference firmware on an emulated chip as a maker's bench: its pins heat an oven in the emulator."""

import shutil
from pathlib import Path

from foreign.benches import Board
from foreign.firmware_board import on_the_emulated_chip

TOOLS = bool(shutil.which("avr-gcc")) and Path("/usr/include/simavr/sim_avr.h").exists()
MASS = 7.0  # of the emulator's oven, so that it heats as the oven file's build says


class ChipAir:
    """The emulator's oven. What a hand does there goes to it as a word."""

    peak_c = property(lambda self: self._line.peak_c)

    def __init__(self, line) -> None:
        self.__dict__["_line"] = line

    @property
    def live(self) -> bool:
        """True while both pins of the heat are high."""
        pins = [said for _, said in self._line.seen if said != "told"]
        return bool(pins) and pins[-1].count("1") == len(("heater", "contactor"))

    def __setattr__(self, name: str, value: float) -> None:
        self._line.tell(f"{name.removesuffix('_k')} {float(value):g}")


class Chip(Board):
    """The chip and its line."""

    def __init__(self) -> None:
        self._line = on_the_emulated_chip()
        self._line.tell(f"mass {MASS:g}")
        self.path, self.close, self.air = self._line.path, self._line.close, ChipAir(self._line)

    lit = property(lambda self: self._line.lit)
    cable = property(lambda self: True, lambda self, there: self._line.tell(f"cable {there:d}"))

    def power_off(self) -> None:
        self._line.tell("brown")
