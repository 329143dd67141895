"""What the holding duty sees of a drift, and what it says of sound holds: the table in slow_drift.md.

    python -m tests.bench.slow_drift heats OUT.jsonl --kind sound --seeds 0 500 [--jobs 2]
    python -m tests.bench.slow_drift table OUT.jsonl... > tests/bench/slow_drift.md

Kinds: sound; wander:3 (the supply wanders by 3 % of its volts, over half an hour to four hours), drift:40
(the reading falls by 40 K an hour from a random moment of the hold on). Learned ovens, each hold on one of
its own that is off by up to a fifth in every constant and a tenth in supply; 150 to 830 degC, cold and warm
starts; with `--volts` the supply is measured. Judged on the truth: how hot it was when it was told.
"""

import argparse
import json
import math
import os
import random
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path
from statistics import median

from kilnctl.heat.runner import Runner
from kilnctl.profile.segments import Soak
from kilnctl.rehearsal.campaign import Scenario, Task, heat_of
from simulator.boards.faults import parse_fault
from tests.faults.scenarios import NUMBER, OVENS, learned_text, oven_text

GOALS_C = {"tempering-oven": (150, 180, 218, 230), "hardening-furnace": (500, 650, 790, 830)}
SOAK_MIN = 90
# A drift begins in the first so many minutes of the hold; late: in a hold that is a quarter of an hour old.
BEGINS_MIN, LATE_S = 40, 900.0
PROFILE = """
name = "a long hold (invented)"
section = "6 mm"
[[segment]]
kind = "ramp"
to = "{0} C"
[[segment]]
kind = "soak"
at = "{0} C"
time = "{1}min"
"""


@dataclass
class Held:
    """One hold. Seconds of the hold; `off_k` is how much hotter than its goal it truly was when told."""

    seed: int
    kind: str
    oven: str
    goal_c: int
    volts: bool
    began_s: float | None = None
    told_s: float | None = None
    off_k: float = 0.0
    tripped_s: float | None = None
    trip_k: float = 0.0
    other_trip: str = ""
    most: float = 0.0


def held(kind: str, volts: bool, seed: int) -> Held:
    """Run one hold and say when it was told."""
    dice = random.Random(f"hold {seed}")
    name = OVENS[seed % 2]
    goal_c = dice.choice(GOALS_C[name])
    warm, begins_s = dice.random() < 0.3, dice.uniform(0.0, BEGINS_MIN * 60.0)
    phases = [(dice.uniform(0.0, math.tau), dice.uniform(1800.0, 14400.0)) for _ in range(3)]
    text = oven_text(name) + (NUMBER.format("supply_v", 6, 0.1) if volts else "")
    profile = PROFILE.format(goal_c, SOAK_MIN)
    scenario = Scenario(text, profile, learned_text(name), goal_c - 30.0 if warm else None)
    found = Held(seed, kind, name, goal_c, volts)
    word, _, size = kind.partition(":")
    arrived: list[float] = []

    def look(runner: Runner) -> None:
        board = heat.board
        if word == "wander":
            wave = (
                sum(math.sin(math.tau * runner.now.elapsed_s / period + phase) for phase, period in phases)
                / 3
            )
            board.flaws.volts = nominal * (1.0 + float(size) / 100.0 * wave)
            board.flawed()
        if not isinstance(runner.now.segment, Soak) or not runner.now.cursor.reached:
            return
        arrived.append(runner.now.elapsed_s)
        hold_s = runner.now.elapsed_s - arrived[0]
        if word == "drift" and found.began_s is None and hold_s >= begins_s:
            board.begin(parse_fault(f"sensor-drift@0:{-float(size)}"))
            found.began_s = hold_s
        _told(runner, found, hold_s, board.plant.sensor.junction_c - goal_c)

    heat, _ = heat_of(Task(seed, scenario, seed), look)
    nominal = heat.board.flaws.volts
    heat.run()
    trip = heat.runner.now.trip
    if trip is not None and trip.kind != "slow_drift":
        found.other_trip = trip.kind
    return found


def _told(runner: Runner, found: Held, hold_s: float, off_k: float) -> None:
    drift = next(i for i in runner.heat.station.interlocks if i.kind == "slow_drift")
    found.most = max(found.most, drift.distance().value or 0.0)
    if found.told_s is None and any(shown.kind == "slow_drift" for shown in runner.now.alarms.standing):
        found.told_s, found.off_k = hold_s, off_k
    if runner.now.trip is not None and runner.now.trip.kind == "slow_drift" and found.tripped_s is None:
        found.tripped_s, found.trip_k = hold_s, off_k
        if found.told_s is None:
            found.told_s, found.off_k = hold_s, off_k


def run(asked: argparse.Namespace) -> None:
    """Run what is not there yet, and append it line by line."""
    there = {(h.seed, h.kind, h.volts) for h in read([asked.out])} if asked.out.exists() else set()
    seeds = [seed for seed in range(*asked.seeds) if (seed, asked.kind, asked.volts) not in there]
    start_s = time.perf_counter()
    with ProcessPoolExecutor(asked.jobs) as executor, asked.out.open("a", encoding="utf-8") as out:
        for done, found in enumerate(executor.map(partial(held, asked.kind, asked.volts), seeds), start=1):
            out.write(json.dumps(asdict(found)) + "\n")
            out.flush()
            if done % 20 == 0:
                print(f"{done} of {len(seeds)}, {done / (time.perf_counter() - start_s):.2f}/s", flush=True)


def read(paths: list[Path]) -> list[Held]:
    """Read holds back."""
    return [Held(**json.loads(line)) for path in paths for line in path.read_text("utf-8").splitlines()]


def table(found: list[Held]) -> str:
    """Return the table as Markdown."""
    lines = [
        "# What the holding duty sees of a drift",
        "",
        f"Made by `python -m tests.bench.slow_drift table`; holds of {SOAK_MIN} min, all invented. A drift",
        f"begins in the first {BEGINS_MIN} min of the hold: `late` means over a quarter of an hour into it,",
        "when the hold knows its own duty. K: how much too hot it truly was when told, median (worst).",
        "",
        "| oven | volts | kind | begins | holds | told | told by 20 K | K when told | tripped | K then | "
        "other trips | largest fall |",
        "|---|---|---|---|---|---|---|---|---|---|---|---|",
    ]
    keys = sorted({(h.oven, h.volts, h.kind.partition(":")[0], h.kind) for h in found}, key=str)
    for oven, volts, _, kind in keys:
        mine = [h for h in found if (h.oven, h.volts, h.kind) == (oven, volts, kind)]
        parts = {"": [h for h in mine if h.began_s is None]}
        parts["early"] = [h for h in mine if h.began_s is not None and h.began_s < LATE_S]
        parts["late"] = [h for h in mine if h.began_s is not None and h.began_s >= LATE_S]
        lines += [_row(oven, volts, kind, when, part) for when, part in parts.items() if part]
    return "\n".join(lines) + "\n"


def _row(oven: str, volts: bool, kind: str, when: str, part: list[Held]) -> str:
    told = [h for h in part if h.told_s is not None and (h.began_s is None or h.told_s >= h.began_s)]
    tripped = [h for h in part if h.tripped_s is not None]
    cells = (
        oven,
        "measured" if volts else "–",
        kind,
        when or "–",
        str(len(part)),
        str(len(told)),
        str(sum(h.off_k <= 20.0 for h in told)) if when else "–",
        _kelvin([h.off_k for h in told]) if when else "–",
        str(len(tripped)),
        _kelvin([h.trip_k for h in tripped]) if when else "–",
        str(sum(bool(h.other_trip) for h in part)),
        f"{max(h.most for h in part):.3f}",
    )
    return f"| {' | '.join(cells)} |"


def _kelvin(values: list[float]) -> str:
    return f"{median(values):.0f} ({max(values):.0f})" if values else "–"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    words = parser.add_subparsers(dest="word", required=True)
    heats = words.add_parser("heats")
    heats.add_argument("out", type=Path)
    heats.add_argument("--kind", default="sound")
    heats.add_argument("--volts", action="store_true")
    heats.add_argument("--seeds", type=int, nargs=2, default=(0, 1000))
    heats.add_argument("--jobs", type=int, default=os.cpu_count())
    shown = words.add_parser("table")
    shown.add_argument("found", type=Path, nargs="+")
    asked = parser.parse_args()
    if asked.word == "heats":
        run(asked)
    else:
        print(table(read(asked.found)), end="")


if __name__ == "__main__":
    main()
