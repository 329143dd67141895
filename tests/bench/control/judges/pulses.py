"""The heater pulse of the set-up on ovens that nobody has learned: who passes, and which fault is found.

    nice -n 19 python -m tests.bench.control.judges.pulses --seeds 6

Each oven gets the file that an honest maker would write: what its walls are of, where the elements sit, its
power, and, where he has timed it, the minutes to 200 degC (a clock that is wrong by up to 15 %). The plug's
meter is read to a twentieth. All ovens are invented: the simulator's, and the judges', of another physics.
"""

import argparse
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from kilnctl.clock import VirtualClock
from kilnctl.commissioning.drills import drills
from kilnctl.config import home
from kilnctl.config.oven import Measured, Oven, load_oven
from kilnctl.permits.dead_man_test import Finding
from kilnctl.rehearsal.virtual_io import VirtualIO
from simulator.boards.board import Board
from simulator.boards.faults import parse_fault
from simulator.oven import ovens
from tests.bench.control.judges.families.named import EVERY_FAMILY
from tests.bench.control.judges.oven import JudgeOven

FAULTS = {
    "sound": "",
    "half an element": "element-dead@0:0.5",
    "sensor out": "sensor-displaced@0:{room:.1f}",
    "heater not switched": "relay-open@0",
}
TIMED_TO_C, LONGEST_S, CLOCK = 200.0, 3 * 3600.0, 0.15
# Where the elements sit as an owner would say it, by family; those of all others are in sight.
_ELEMENTS = {
    "embedded": "embedded", "muffle": "muffle", "retort": "muffle", "salt-pot": "muffle",
    "closed-box": "muffle", "sand-tray": "plate", "radiant-tube": "muffle", "storage-slab": "embedded",
    "fan-duct": "fan", "stalling-fan": "fan",
}  # fmt: skip


@dataclass(frozen=True)
class Subject:
    """One oven: its name, its file without a timed heat-up, and how to make it anew, cold."""

    name: str
    file: Oven
    plant: Callable[[], Any]

    def takes_s(self) -> float:
        """Return how long the sound oven takes to 200 degC at full heat, by its own sensor."""
        plant, at_s = self.plant(), 0.0
        read = (lambda: plant.true_c) if isinstance(plant, JudgeOven) else (lambda: plant.sensor.junction_c)
        while read() < TIMED_TO_C and at_s < LONGEST_S:
            plant.step(1.0, 1.0)
            at_s += 1.0
        return at_s

    def timed(self) -> Oven:
        """Return the file with the minutes that a maker's clock gives."""
        clock = random.Random(self.name).uniform(1.0 - CLOCK, 1.0 + CLOCK)
        takes = {"heats_to": f"{TIMED_TO_C:g} C", "takes": f"{max(60.0, self.takes_s() * clock):.0f} s"}
        return self.file.model_copy(update={"measured": Measured.model_validate(takes)})

    def pulse(self, file: Oven, fault: str) -> Finding:
        """Do the pulse with one of the faults."""
        plant, clock = self.plant(), VirtualClock()
        board = Board(plant, seed=1, resolution_k=file.signal.process.step_k)
        text = FAULTS[fault].format(room=plant.ambient_c)
        board.schedule([parse_fault(text)] if text else [])
        return drills.run("pulse", file, VirtualIO(file, board, clock), clock)


def subjects(seeds: int) -> Iterator[Subject]:
    """Return so many ovens of each family, of 0.5 to 3 kW, and what their owners write."""
    for family in ovens.FAMILIES:
        for seed in range(seeds):
            power_w = random.Random(f"{family} {seed}").uniform(500.0, 3000.0)
            room_c = ovens.random_oven(family, seed, power_w=power_w).ambient_c

            def plant(family: str = family, seed: int = seed, power_w: float = power_w) -> Any:
                return ovens.random_oven(family, seed, power_w=power_w)

            sits = "fan" if family == "fan" else "open"
            file = _file(family, sits, power_w, room_c, family in ("leaky", "fan"))
            yield Subject(f"{family} {seed}", file, plant)
    for family in EVERY_FAMILY:
        for seed in range(seeds):
            judge = JudgeOven(family, seed, "pulse")

            def judged(family: str = family, seed: int = seed) -> Any:
                return JudgeOven(family, seed, "pulse")

            build = judge.build
            small = build.file == "tempering-oven"
            sits = _ELEMENTS.get(family, "open")
            yield Subject(
                f"{family} {seed}", _file(build.walls, sits, build.power_w, judge.ambient_c, small), judged
            )


def _file(walls: str, sits: str, power_w: float, room_c: float, small: bool) -> Oven:
    name = "tempering-oven" if small else "hardening-furnace"
    told = {"name": "judged", "build": walls, "elements": sits, "power_w": power_w, "ambient_c": room_c}
    oven = load_oven(home.bundled("ovens") / f"{name}.toml")
    blind = oven.signal.model_copy(update={"heater_live": None})
    return oven.model_copy(update=told | {"zone": (), "signal": blind})


def main() -> None:
    """Print for each family and each fault how many passed, without and with the minutes told."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--seeds", type=int, default=4)
    asked = parser.parse_args()
    passed: dict[tuple[str, str], list[bool]] = {}
    told: dict[tuple[str, str], list[bool]] = {}
    for one in subjects(asked.seeds):
        for how, file in (("untimed", one.file), ("timed", one.timed())):
            for fault in FAULTS if how == "untimed" else ("sound", "half an element"):
                found = one.pulse(file, fault)
                passed.setdefault((how, fault), []).append(found.passed)
                told.setdefault((how, fault), []).append("?" in found.line or not found.passed)
                if (fault == "sound") is not found.passed and fault != "half an element":
                    print(f"{one.name}, {how}, {fault}: {found.line}", flush=True)
    for (how, fault), those in passed.items():
        said = told[how, fault]
        print(f"{how:8} {fault:20} passed {sum(those)} of {len(those)}; told or refused {sum(said)}")


if __name__ == "__main__":
    main()
