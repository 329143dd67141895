"""The table of the control room: every job, every controller, on ovens the code was not tuned on.

    nice python -m tests.bench.control.table --kept /tmp/kilnctl-bench

Resumable: learned ovens and finished rows stay in the folder. `--ovens brick:11,fibre:11` takes a sample,
`--only ours` leaves the textbook controllers out. Nothing here is asserted.
"""

import argparse
import json
from collections import defaultdict
from collections.abc import Callable
from pathlib import Path
from statistics import median
from typing import Any

from kilnctl.control.heat_controller import HeatController
from kilnctl.model.nameplate import nameplate
from tests.bench.control import jobs
from tests.bench.control.learnt import learned
from tests.bench.control.world import Case, fastest_s, ours

UNSEEN = "fibre:11,brick:11,leaky:11,fan:11,heavy:11,fibre:12,brick:12,leaky:12,fan:12,heavy:12"


class Kept:
    """Rows by key in one file, computed once."""

    def __init__(self, folder: Path) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self._path = folder / "rows.json"
        self.rows: dict[str, Any] = json.loads(self._path.read_text()) if self._path.exists() else {}

    def of(self, key: str, make: Callable[[], Any]) -> Any:
        """Return the row of a key, made and saved where it is not there yet."""
        if key not in self.rows:
            self.rows[key] = make()
            self._path.write_text(json.dumps(self.rows))
            print(key, self.rows[key], flush=True)
        return self.rows[key]


def run(kept: Kept, folder: Path, family: str, seed: int, only: str) -> None:
    """Compute all rows of one oven."""
    case, name = Case(family, seed), f"{family} {seed}"
    model = learned(family, seed, folder)
    cases = {
        "heat": (case, {}),
        "contactor 30 s": (case, {"contactor": True}),
        "three times the charge": (case, {"load_kg": 3 * jobs.CHARGE_KG}),
        "supply -8 %": (Case(family, seed, volts=0.92), {}),
        "sensor lag +50 %": (Case(family, seed, lag=1.5), {}),
    }
    for goal in jobs.goals(family):
        for what, (under, how) in cases.items():
            if goal == 871 and what != "heat":
                continue
            limit_s = kept.of(
                f"limit|{under.lag}|{under.volts}|{goal}|{name}",
                lambda u=under, g=goal: fastest_s(u.plant(), g),
            )
            contactor = bool(how.get("contactor"))
            kept.of(
                f"{what}|kilnctl|{goal}|{name}",
                lambda u=under, g=goal, c=contactor, h=how, s=limit_s: jobs.approach(
                    u, g, ours(HeatController(u.file(c), model, True)), s, **h
                ),
            )
        limit_s = kept.rows[f"limit|1.0|1.0|{goal}|{name}"]
        kept.of(
            f"heat|kilnctl, not learned|{goal}|{name}",
            lambda g=goal, s=limit_s: jobs.approach(
                case, g, ours(HeatController(case.file(), nameplate(case.file()), False)), s
            ),
        )
        by_pid = case.file().model_copy(update={"controller": "pid"})
        kept.of(
            f"heat|kilnctl, PID path|{goal}|{name}",
            lambda g=goal, s=limit_s, o=by_pid: jobs.approach(
                case, g, ours(HeatController(o, model, True)), s
            ),
        )
        if goal != 871:
            kept.of(
                f"charge|kilnctl|{goal}|{name}",
                lambda g=goal: jobs.charge(case, g, ours(HeatController(case.file(), model, True))),
            )
    kept.of(f"ramp|kilnctl|0|{name}", lambda: jobs.ramp(case, model))
    if only == "ours":
        return
    for goal in jobs.goals(family):
        limit_s = kept.rows[f"limit|1.0|1.0|{goal}|{name}"]
        if f"heat|AMIGO|{goal}|{name}" in kept.rows:
            continue
        for rule, duty in jobs.rules(case, goal).items():
            kept.of(
                f"heat|{rule}|{goal}|{name}",
                lambda g=goal, d=duty, r=rule, s=limit_s: jobs.approach(case, g, d, s, direct=r == "on/off"),
            )


COLUMNS = ("over_k", "ratio", "touch_rms_k", "settled_rms_k", "settled_worst_k", "closures_per_h", "energy_s")


def table(kept: Kept) -> str:
    """Return the table as text: median (worst) over the ovens."""
    groups: dict[tuple[str, str, str], list[dict[str, Any]]] = defaultdict(list)
    for key, row in kept.rows.items():
        what, who, goal, _ = [*key.split("|"), ""][:4]
        if what not in ("limit", "ramp"):
            groups[what, who, goal].append(row)
    lines = ["| job | controller | goal °C | ovens | " + " | ".join(COLUMNS) + " |", "|---" * 11 + "|"]
    for (what, who, goal), rows in sorted(groups.items()):
        cells = [_cell([r[c] for r in rows if c in r]) for c in COLUMNS]
        lines.append(f"| {what} | {who} | {goal} | {len(rows)} | " + " | ".join(cells) + " |")
    ramps = [r for k, r in kept.rows.items() if k.startswith("ramp|")]
    if ramps:
        said = ", ".join(f"{c} {_cell([r[c] for r in ramps])}" for c in ramps[0])
        lines.append(f"\nramp 150 °C/h, {len(ramps)} ovens, after the first ten minutes: {said}")
    return "\n".join(lines)


def _cell(values: list[float]) -> str:
    if not values:
        return ""
    digits = 0 if max(values) >= 100 else 2
    return f"{median(values):.{digits}f} ({max(values):.{digits}f})"


def main() -> None:
    """Run what is asked and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kept", type=Path, required=True)
    parser.add_argument("--ovens", default=UNSEEN)
    parser.add_argument("--only", default="")
    asked = parser.parse_args()
    kept = Kept(asked.kept)
    for oven in asked.ovens.split(","):
        family, seed = oven.split(":")
        run(kept, asked.kept, family, int(seed), asked.only)
    print(table(kept))


if __name__ == "__main__":
    main()
