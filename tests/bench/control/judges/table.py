"""The judges' table: median, nine in ten and worst over ovens of another build.

    nice -n 19 python -m tests.bench.control.judges.table --kept /tmp/judges --seeds 1-3 --jobs heat

Resumable: learned ovens and rows stay in the folder. `--families` and `--jobs` take a sample. Every oven
looked at is counted in `looks.json` beside this file, by what it was looked at for (`--as`); with `--first`
ovens that were looked at before are refused, and the rows go into `first_looks.json` too.
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
from tests.bench.control.judges.oven import EVERY_FAMILY

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
    "not learned": {},
    "pid": {"pid": True},
}
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
        how, model = JOBS[name], None if name == "not learned" else self.model(family, seed)
        if isinstance(model, str):
            return {"refused": model}
        if name.startswith("cold charge"):
            return jobs.charge(family, seed, goal, model, **how)
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
        self._path.write_text(json.dumps(self.rows))
        short = {k: round(v, 2) if isinstance(v, float) else v for k, v in row.items()}
        print(key, short, flush=True)


def measure(folder: Folder, family: str, seed: int, asked: list[str], goals: tuple[int, ...]) -> None:
    """Compute what is missing of one oven's rows."""
    for goal in (g for g in jobs.can_reach(family, seed) if g in goals):
        for name in asked:
            key = f"{name}|{goal}|{family}|{seed}"
            if key not in folder.rows:
                folder.keep(key, folder.row(name, family, seed, goal))


def told(rows: dict[str, dict[str, Any]]) -> str:
    """Return the table as text."""
    groups: dict[tuple[str, str], list[dict[str, Any]]] = defaultdict(list)
    for key, row in rows.items():
        name, goal, *_ = key.split("|")
        groups[name, goal].append(row)
    lines = [
        "| job | goal °C | ovens | " + " | ".join(COLUMNS) + " | beyond 3 K | trips | called | refused |"
    ]
    lines.append("|---" * (len(COLUMNS) + 7) + "|")
    for (name, goal), group in sorted(groups.items()):
        done = [r for r in group if "refused" not in r]
        cells = [_cell([abs(r[c]) if c == "offset_k" else r[c] for r in done if c in r]) for c in COLUMNS]
        beyond = sum(r["over_k"] > 3.0 for r in done)
        ends = [str(sum(bool(r[w]) for r in done)) for w in ("trip", "note")]
        lines.append(
            f"| {name} | {goal} | {len(done)} | "
            + " | ".join([*cells, str(beyond), *ends, str(len(group) - len(done))])
            + " |"
        )
    return "\n".join(lines)


def _cell(values: list[float]) -> str:
    values = sorted(v for v in values if not math.isnan(v))
    if not values:
        return ""
    nine = values[min(len(values) - 1, math.ceil(0.9 * len(values)) - 1)]
    return " / ".join(f"{v:.2f}" if v < 100 else f"{v:.0f}" for v in (median(values), nine, values[-1]))


def count(ovens: list[str], first: bool, what: str) -> str:
    """Count a look at each oven and say how often it has been looked at. Exits where it must be the first."""
    looks: dict[str, dict[str, int]] = json.loads(LOOKS.read_text()) if LOOKS.exists() else {}
    known = [oven for oven in ovens if oven in looks]
    if first and known:
        raise SystemExit(f"not a first look at {', '.join(known)}")
    for oven in ovens:
        of = looks.setdefault(oven, {})
        of[what] = of.get(what, 0) + 1
    LOOKS.write_text(json.dumps(looks, indent=0, sort_keys=True) + "\n")
    times = sorted(sum(looks[oven].values()) for oven in ovens)
    return f"{len(ovens)} ovens, looked at {times[0]} to {times[-1]} times (this one counted)"


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
    seen = count([f"{f} {s}" for f, s in ovens], asked.first, asked.what)
    folder = Folder(asked.kept)
    goals = tuple(int(g) for g in asked.goals.split(","))
    for family, seed in ovens:
        measure(folder, family, seed, asked.jobs.split(","), goals)
    print(told(folder.rows))
    print(seen)
    if asked.first:
        kept = json.loads(FIRST.read_text()) if FIRST.exists() else {}
        FIRST.write_text(json.dumps(kept | {asked.what: folder.rows}, indent=0) + "\n")


if __name__ == "__main__":
    main()
