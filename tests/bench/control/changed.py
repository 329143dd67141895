"""An oven that has changed since it was learned, and is mended: what is said, what is kept, how far over.

    nice python -m tests.bench.control.changed --kept /tmp/changed --ovens fibre:8101,leaky:8101

Three heats in a row for each oven, goal and change: changed, still changed, mended; each starts from what
the one before it found. With `--load` a cold charge lies in all of them. Nothing here is asserted.
"""

import argparse
from collections import Counter
from pathlib import Path

from kilnctl.care.oven_knowledge import Known, found_changed, say
from kilnctl.control.heat_controller import HeatController
from simulator.oven.part import Part
from tests.bench.control import jobs
from tests.bench.control.learnt import learned
from tests.bench.control.world import Case, figures, heat, job, ours

CHANGES = {"nothing": {}, "sensor lag +50 %": {"lag": 1.5}, "supply -8 %": {"volts": 0.92}}


def named(note: str) -> str:
    """Return in a word what a heat called changed."""
    for start in ("sensor", "heater"):
        if note.startswith(f"the {start}"):
            return start
    return "either" if note else "nothing"


def one_heat(case: Case, goal: int, known: Known, load_kg: float) -> tuple[float, str, Known]:
    """Return overshoot in K, what was called changed, and what is known afterwards."""
    plant = case.plant()
    if load_kg:
        plant.part = Part(section_mm=12, mass_kg=load_kg, at_c=plant.ambient_c)
    controller = HeatController(case.file(), known.model, True, known.control_model)
    rows, _ = heat(plant, case.file(), ours(controller), job(goal))
    note, change = rows[-1].note, found_changed("oven", known, controller.evidence, 1)
    after = known if change is None else Known(known.model, known.number, change)
    return figures(rows, goal)["over_k"], named(note), after


def three_heats(family: str, seed: int, goal: int, what: str, kept: Path, load_kg: float) -> str:
    """Print a line of three heats; return what the first one called changed."""
    changed, known = Case(family, seed, **CHANGES[what]), Known(learned(family, seed, kept), 1)
    overs, words, kepts = [], [], []
    for case in (changed, changed, Case(family, seed)):
        over_k, word, known = one_heat(case, goal, known, load_kg)
        overs.append(over_k)
        words.append(word)
        kepts.append("-" if known.change is None else say(known.change))
    over = ", ".join(f"{k:.2f}" for k in overs)
    print(f"{family} {seed}, {goal} °C, {what}: called {words}, over {over} K, kept {kepts}", flush=True)
    return words[0]


def main() -> None:
    """Run what is asked and count what was called changed."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--kept", type=Path, required=True)
    parser.add_argument("--ovens", required=True)
    parser.add_argument("--load", type=float, default=0.0, metavar="KG")
    asked = parser.parse_args()
    count: Counter[tuple[str, str]] = Counter()
    for oven in asked.ovens.split(","):
        family, seed = oven.split(":")
        for goal in (g for g in jobs.goals(family) if g != 871):
            for what in CHANGES:
                count[what, three_heats(family, int(seed), goal, what, asked.kept, asked.load)] += 1
    for (what, word), times in sorted(count.items()):
        print(f"{what}: called {word} in {times}")


if __name__ == "__main__":
    main()
