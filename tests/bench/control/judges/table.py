"""The judges' table: median, nine in ten and worst over ovens of another build.

    nice -n 19 python -m tests.bench.control.judges.table --kept kept --seeds 1-3 --jobs heat

Resumable by the same command: learned ovens, limits and rows stay in the folder, beside `table.md`, which is
there after every oven. `--families` and `--jobs` take a sample. Every oven looked at is counted in
`looks.json` beside this file, by what it was looked at for (`--as`); with `--first` ovens that were looked at
before, and not from this folder, are refused, and the rows go into `first_looks.json` too. What could not be
learned, and what broke the bench, is a row that says so.
"""

import argparse
import json
import math
from collections import defaultdict
from pathlib import Path
from statistics import median
from typing import Any

from kilnctl.errors import KilnctlError
from kilnctl.model.oven_model import OvenModel
from tests.bench.control.judges import jobs
from tests.bench.control.judges.driver import learn
from tests.bench.control.judges.families.named import EVERY_FAMILY

HERE = Path(__file__).parent
LOOKS, FIRST = HERE / "looks.json", HERE / "first_looks.json"
# What is asked, and how.
JOBS: dict[str, dict[str, Any]] = {
    "heat": {},
    "400 C/h": {"rate": 400.0},
    "contactor": {"contactor": True},
    "lag +50 %": {"lag": 1.5},
    "supply -8 %": {"volts": 0.92},
    "charge 1.5 kg": {"kg": 1.5},
    "cold charge": {},
    "cold charge without a switch": {"door": False},
    "cold charge in a step": {"door": False, "step": True},
    "warm": {"warm": True},
    "not learned": {},
    "cold charge not learned": {},
    "cold charge in a step not learned": {"door": False, "step": True},
    "warm not learned": {"warm": True},
    "pid": {"pid": True},
}
# The most that is asked of a job, by column; full heat to 829 degC is asked more of.
SOUND = {"over_k": 3.0, "ratio": 1.5, "settled_k": 0.5, "offset_k": 1.0}
ASKED: dict[str, dict[str, float]] = {
    "heat": SOUND,
    "400 C/h": SOUND,
    "contactor": SOUND | {"over_k": 4.0},
    "warm": SOUND,
    "cold charge": {"over_k": 3.0, "ratio": 2.0},
    "cold charge without a switch": {"over_k": 3.0, "ratio": 2.0},
    "cold charge in a step": {"over_k": 3.0, "ratio": 2.0},
}
# What such an oven is to be called; any other is sound.
CALLED = {"lag +50 %": "slower", "supply -8 %": "the heater gives"}
# The words of a note that calls an oven changed.
CALLS = ("than when the oven was learned", "of the power that was learned", "Learn the oven again")
OTHERWISE, QUICK = {"over_k": 5.0}, {"ratio": 1.1}
COLUMNS = ("over_k", "ratio", "settled_k", "offset_k", "closures_h", "skin_k")


class Folder:
    """Models and rows by key, computed once."""

    def __init__(self, folder: Path) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self._folder = folder
        self._path = folder / "rows.json"
        self.rows: dict[str, dict[str, Any]] = (
            json.loads(self._path.read_text()) if self._path.exists() else {}
        )

    def model(self, family: str, seed: int) -> OvenModel | str:
        """Return what was learned of an oven, or why it could not be."""
        path = self._folder / f"{family}-{seed}.json"
        if not path.exists():
            try:
                told: Any = learn(family, seed).to_dict()
            except (KilnctlError, RuntimeError) as e:
                told = {"not learned": str(e)}
            path.write_text(json.dumps(told))
        told = json.loads(path.read_text())
        return told["not learned"] if "not learned" in told else OvenModel.from_dict(told)

    def row(self, name: str, family: str, seed: int, goal: int) -> dict[str, Any]:
        """Return the row of one job on one oven."""
        how, model = JOBS[name], None if name.endswith("not learned") else self.model(family, seed)
        if isinstance(model, str):
            return {"refused": model}
        if name.startswith("cold charge"):
            return jobs.charge(family, seed, goal, model, **how)
        if "warm" in how:
            return jobs.warm(family, seed, model)
        return jobs.approach(family, seed, goal, model, self._limit_s(family, seed, goal, how), **how)

    def _limit_s(self, family: str, seed: int, goal: int, how: dict[str, Any]) -> float:
        own = {k: v for k, v in how.items() if k in ("lag", "volts", "kg", "rate")}
        key, path = f"{family} {seed} {goal} {own}", self._folder / "limits.json"
        known: dict[str, float] = json.loads(path.read_text()) if path.exists() else {}
        if key not in known:
            known[key] = jobs.limit(family, seed, goal, **own)
            path.write_text(json.dumps(known))
        return known[key]

    def keep(self, key: str, row: dict[str, Any]) -> None:
        """Keep a row."""
        self.rows[key] = row
        part = self._path.with_suffix(".part")
        part.write_text(json.dumps(self.rows))
        part.replace(self._path)  # whole, or as before
        short = {k: round(v, 2) if isinstance(v, float) else v for k, v in row.items()}
        print(key, short, flush=True)

    def tell(self) -> str:
        """Return the table and what was missed, and keep it beside the rows."""
        text = told(self.rows) + "\n\n" + "\n".join(misses(self.rows)) + "\n"
        (self._folder / "table.md").write_text(text)
        return text


def missing(
    folder: Folder, family: str, seed: int, asked: list[str], goals: tuple[int, ...]
) -> list[tuple[str, str, int]]:
    """Return key, job and goal of every row of an oven that is not there."""
    reached = [goal for goal in jobs.can_reach(family, seed) if goal in goals]
    every = [(f"{name}|{goal}|{family}|{seed}", name, goal) for goal in reached for name in asked]
    return [(key, name, goal) for key, name, goal in every if key not in folder.rows and _set(name, goal)]


def _set(name: str, goal: int) -> bool:
    """Return whether a job is set at a goal: from warm at one only."""
    return "warm" not in JOBS[name] or goal == jobs.WARM_GOAL_C


def measure(folder: Folder, family: str, seed: int, what: list[tuple[str, str, int]]) -> None:
    """Compute rows of one oven. A row that breaks the bench says by what, and the others go on."""
    for key, name, goal in what:
        try:
            row = folder.row(name, family, seed, goal)
        except Exception as e:  # told in the table: a run of hours is not lost by one heat
            row = {"broke": f"{type(e).__name__}: {e}"}
        folder.keep(key, row)


def told(rows: dict[str, dict[str, Any]]) -> str:
    """Return the table as text."""
    groups: dict[tuple[str, str], list[dict[str, Any]]] = defaultdict(list)
    for key, row in rows.items():
        name, goal, *_ = key.split("|")
        groups[name, goal].append(row)
    lines = [
        "| job | goal °C | ovens | "
        + " | ".join(COLUMNS)
        + " | beyond 3 K | trips | called | refused | broke |"
    ]
    lines.append("|---" * (len(COLUMNS) + 8) + "|")
    for (name, goal), group in sorted(groups.items()):
        done = [r for r in group if "refused" not in r and "broke" not in r]
        cells = [_cell([_figure(r, c) for r in done if c in r]) for c in COLUMNS]
        beyond = sum(r["over_k"] > 3.0 for r in done)
        ends = [str(sum(bool(r["trip"]) for r in done)), str(sum(called(r["note"]) for r in done))]
        ends += [str(sum(w in r for r in group)) for w in ("refused", "broke")]
        lines.append(f"| {name} | {goal} | {len(done)} | " + " | ".join([*cells, str(beyond), *ends]) + " |")
    return "\n".join(lines)


def misses(rows: dict[str, dict[str, Any]]) -> list[str]:
    """Return a line for every row with more than is asked, a trip, a word of change, or no heat at all."""
    lines = []
    for key, row in sorted(rows.items()):
        name, goal, family, seed = key.split("|")
        asked = ASKED.get(name, OTHERWISE) | (QUICK if (name, goal) == ("heat", "829") else {})
        found = [f"{c} {row[c]:.2f}" for c, most in asked.items() if c in row and _figure(row, c) > most]
        if "note" in row and CALLED.get(name, row["note"]) not in row["note"]:
            found.append(f"not called {CALLED[name]}")
        elif name not in CALLED and row.get("note"):
            found.append(f"note: {row['note']}")
        found += [f"{what}: {row[what]}" for what in ("trip", "refused", "broke") if row.get(what)]
        if found:
            lines.append(f"- {family} {seed}, {name}, {goal}: {'; '.join(found)}")
    return lines


def called(note: str) -> bool:
    """Return whether a note calls the oven changed; drying, or a model that never fitted, is no change."""
    return any(words in note for words in CALLS)


def _figure(row: dict[str, Any], column: str) -> float:
    """Return a figure of a row; a tripped heat has not settled."""
    if column in ("settled_k", "offset_k") and row["trip"]:
        return math.nan
    figure: float = row[column]
    return abs(figure) if column == "offset_k" else figure


def _cell(values: list[float]) -> str:
    values = sorted(v for v in values if not math.isnan(v))
    if not values:
        return ""
    nine = values[min(len(values) - 1, math.ceil(0.9 * len(values)) - 1)]
    return " / ".join(f"{v:.2f}" if v < 100 else f"{v:.0f}" for v in (median(values), nine, values[-1]))


def count(oven: str, what: str) -> int:
    """Count a look at an oven and return how often it has been looked at."""
    looks = _looks()
    of = looks.setdefault(oven, {})
    of[what] = of.get(what, 0) + 1
    LOOKS.write_text(json.dumps(looks, indent=0, sort_keys=True) + "\n")
    return sum(of.values())


def _looks() -> dict[str, dict[str, int]]:
    return json.loads(LOOKS.read_text()) if LOOKS.exists() else {}


def refuse_known(ovens: list[str], folder: Folder) -> None:
    """Exit where an oven was looked at before, but for a look that this folder has begun."""
    begun = {" ".join(key.split("|")[2:]) for key in folder.rows}
    if known := [oven for oven in ovens if oven in _looks() and oven not in begun]:
        raise SystemExit(f"not a first look at {', '.join(known)}")


def main() -> None:
    """Run what is asked and print the table."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--kept", type=Path, required=True)
    parser.add_argument("--seeds", required=True, help="like 1-3 or 7")
    parser.add_argument("--families", default=",".join(EVERY_FAMILY))
    parser.add_argument("--jobs", default="heat")
    parser.add_argument("--goals", default="218,829")
    parser.add_argument("--as", dest="what", default="while building", help="what this look is for")
    parser.add_argument("--first", action="store_true")
    asked = parser.parse_args()
    low, _, high = asked.seeds.partition("-")
    ovens = [(f, s) for s in range(int(low), int(high or low) + 1) for f in asked.families.split(",")]
    folder = Folder(asked.kept)
    if asked.first:
        refuse_known([f"{f} {s}" for f, s in ovens], folder)
    goals = tuple(int(g) for g in asked.goals.split(","))
    for family, seed in ovens:
        if what := missing(folder, family, seed, asked.jobs.split(","), goals):
            count(f"{family} {seed}", asked.what)
            measure(folder, family, seed, what)
            folder.tell()
    print(folder.tell())
    looks = _looks()
    times = sorted(sum(looks[f"{f} {s}"].values()) for f, s in ovens)
    print(f"{len(ovens)} ovens, looked at {times[0]} to {times[-1]} times")
    if asked.first:
        kept = json.loads(FIRST.read_text()) if FIRST.exists() else {}
        FIRST.write_text(json.dumps(kept | {asked.what: folder.rows}, indent=0) + "\n")


if __name__ == "__main__":
    main()
