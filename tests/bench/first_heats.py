"""First heats of ovens that nobody has learned: do the guesses of the nameplate trip a sound one?

    python -m tests.bench.first_heats answer     how far a slow oven may lag behind its nameplate
    python -m tests.bench.first_heats shut       the same of a warm oven that stood open for a part
    python -m tests.bench.first_heats coast      how long a sensor goes on rising after a cut
    python -m tests.bench.first_heats heats      whole first heats under all interlocks; lists what tripped
    python -m tests.bench.first_heats heats --each 20 --jobs 1     a sample: every twentieth of the 264

Invented ovens of five builds, seeds that no other bench has. The limits of `interlocks/sensor_answer` and
`thresholds` come from the first three; the last shows them.
"""

import argparse
import copy
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from typing import NamedTuple

from kilnctl.config.oven import Oven
from kilnctl.heat.job import Job
from kilnctl.interlocks.sensor_answer import ANSWERED_K, FACTOR_GUESSED, FLOOR_GUESSED_K, WARM_S
from kilnctl.interlocks.stuck_on import RISE_K
from kilnctl.interlocks.thresholds import COAST_FLOOR_GUESSED_S
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import advance, at_rest, sensor_c
from kilnctl.rehearsal.dry_run import rehearse
from kilnctl.rehearsal.perturbed_ovens import warmed
from kilnctl.treatment.planning import soak_job
from simulator.oven.ovens import FAMILIES
from simulator.oven.part import Part
from simulator.oven.plant import Plant
from tests.bench.control.world import HARDENING, Case

LONGEST_S = 3600
COAST_S = 900
WARM_C = (190.0, 400.0, 780.0)
CUTS_C = (60.0, 100.0, 218.0, 400.0)


class First(NamedTuple):
    """One first heat: an oven, its supply as a share of the nameplate's, and the goal in degC."""

    family: str
    seed: int
    volts: float
    goal_c: float

    def oven(self) -> tuple[Oven, Plant]:
        """Return the file that its owner would write, and the oven."""
        case = Case(self.family, self.seed, volts=self.volts)
        plant = case.plant()
        return case.file().model_copy(update={"power_w": plant.data.power_w}), plant


def lag_k(family: str, seed: int) -> float:
    """Return how far (K) what is due passes the factor allowed, at worst, until the sensor has answered."""
    oven, plant = First(family, seed, 0.9, 0.0).oven()
    model, start_c = nameplate(oven), plant.sensor.junction_c
    state, worst_k = at_rest(start_c), 0.0
    for _ in range(LONGEST_S):
        plant.step(1.0, 1.0)
        state = advance(model, state, 1.0, start_c, 1.0)
        rise_k = plant.sensor.junction_c - start_c
        worst_k = max(worst_k, sensor_c(state) - start_c - FACTOR_GUESSED * rise_k)
        if rise_k >= ANSWERED_K:
            break
    return worst_k


def shut_k(family: str, seed: int) -> float:
    """Return the same of a warm oven that stood open for nearly `WARM_S` and got a cold part, at worst."""
    return max(_shut_k(family, seed, at_c) for at_c in WARM_C if at_c < 300.0 or family in HARDENING)


def _shut_k(family: str, seed: int, at_c: float) -> float:
    oven, plant = First(family, seed, 0.9, 0.0).oven()
    model = nameplate(oven)
    plant = warmed(plant, at_c)
    plant.door_open, plant.part = True, Part(section_mm=20.0, mass_kg=2.0)
    for _ in range(int(WARM_S)):
        plant.step(0.0, 1.0)
    plant.door_open = False
    start_c = plant.sensor.junction_c
    state, worst_k = at_rest(start_c), 0.0
    for _ in range(LONGEST_S):
        plant.step(1.0, 1.0)
        state = advance(model, state, 1.0, start_c, 1.0)
        rise_k = plant.sensor.junction_c - start_c
        worst_k = max(worst_k, sensor_c(state) - start_c - FACTOR_GUESSED * max(rise_k, 0.0))
        if rise_k >= ANSWERED_K:
            break
    return worst_k


def coast_s(family: str, seed: int) -> float:
    """Return how long after a cut the sensor has still to rise by more than is allowed, at worst."""
    _, plant = First(family, seed, 1.0, 0.0).oven()
    return max(_coast_s(plant, cut_c) for cut_c in CUTS_C if cut_c < 300.0 or family in HARDENING)


def _coast_s(plant: Plant, cut_c: float) -> int:
    while plant.sensor.junction_c < cut_c:
        plant.step(1.0, 1.0)
    cut, course_c = copy.deepcopy(plant), []
    for _ in range(COAST_S):
        cut.step(0.0, 1.0)
        course_c.append(cut.sensor.junction_c)
    return next(s for s in range(COAST_S) if max(course_c[s:]) - course_c[s] <= RISE_K)


def heats() -> Iterator[First]:
    """Yield 264 first heats."""
    for family in FAMILIES:
        for seed in range(61, 69):
            for goal_c in (218.0, 650.0, 829.0) if family in HARDENING else (150.0, 218.0):
                for volts in (0.92, 1.0, 1.08):
                    yield First(family, seed, volts, goal_c)


def run(first: First) -> str:
    """Run one under all interlocks; return why it was not complete, empty where it was."""
    oven, plant = first.oven()
    return rehearse(oven, Job(soak_job(first.goal_c, 1200.0, oven)), plant=plant, seed=first.seed).run().cause


def whole_heats(each: int, jobs: int | None) -> None:
    """Run every so many-th of the heats and print what was not complete."""
    asked, bad = list(heats())[::each], 0
    with ProcessPoolExecutor(jobs) as executor:
        for count, (first, cause) in enumerate(zip(asked, executor.map(run, asked), strict=True), 1):
            bad += bool(cause)
            print(f"{count}: {first} {cause}" if cause else f"{count}", flush=True)
    print(f"{len(asked)} first heats, {bad} not complete")


def worst_of(measure: Callable[[str, int], float], limit: float, each: int) -> None:
    """Print the three worst ovens of each build."""
    for family in FAMILIES:
        worst = sorted(((measure(family, seed), seed) for seed in range(200, 400, each)), reverse=True)[:3]
        print(f"{family:8s} limit {limit:g}; worst (seed):", ", ".join(f"{v:.0f} ({s})" for v, s in worst))


def main() -> None:
    """Print what was asked for."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("what", choices=("answer", "shut", "coast", "heats"))
    parser.add_argument("--each", type=int, default=1, help="a sample: every so many-th oven or heat")
    parser.add_argument(
        "--jobs", type=int, help="heats at a time; as many as there are processors if not said"
    )
    asked = parser.parse_args()
    match asked.what:
        case "heats":
            whole_heats(asked.each, asked.jobs)
        case "coast":
            worst_of(coast_s, COAST_FLOOR_GUESSED_S, asked.each)
        case what:
            worst_of(lag_k if what == "answer" else shut_k, FLOOR_GUESSED_K, asked.each)


if __name__ == "__main__":
    main()
