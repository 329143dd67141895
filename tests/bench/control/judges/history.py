"""Every first look of the judges in one table, from `first_looks.json`, oldest first.

python -m tests.bench.control.judges.history
"""

import json
import math
from collections.abc import Iterator
from pathlib import Path
from statistics import median
from typing import Any

FIRST = Path(__file__).parent / "first_looks.json"
# What a column tells: the job, its goal (any, where it is empty), and the figures.
COLUMNS = (
    ("full heat, 218 °C: over K; ratio", "heat", "218", ("over_k", "ratio")),
    ("829 °C: over K; ratio", "heat", "829", ("over_k", "ratio")),
    ("lag +50 %: over K", "lag +50 %", "", ("over_k",)),
    ("not learned: over K", "not learned", "", ("over_k",)),
)
HEAD = ("first look", "ovens; heats; not learned and said so; trips", *(column[0] for column in COLUMNS))


def three(values: list[float]) -> str:
    """Return median, nine in ten and worst."""
    ranked = sorted(values)
    told = (median(ranked), ranked[round(0.9 * (len(ranked) - 1))], ranked[-1])
    return " / ".join("inf" if math.isinf(value) else f"{value:.2f}" for value in told)


def cell(rows: dict[str, dict[str, Any]], job: str, goal: str, figures: tuple[str, ...]) -> str:
    """Return what the heats of one job came to; those that were tripped are told beside, not here."""
    begins = f"{job}|{goal}|" if goal else f"{job}|"
    those = [row for key, row in rows.items() if key.startswith(begins) and not row.get("trip")]
    found = [[row[name] for row in those if row.get(name) is not None] for name in figures]
    return "; ".join(three(values) for values in found if values) or "–"


def lines(looks: dict[str, dict[str, dict[str, Any]]]) -> Iterator[str]:
    """Yield the table, a row a look."""
    yield "| " + " | ".join(HEAD) + " |"
    yield "|---" * len(HEAD) + "|"
    for name, rows in looks.items():
        ovens = len({tuple(key.split("|")[2:]) for key in rows})
        refused = sum("refused" in row for row in rows.values())
        trips = sum(bool(row.get("trip")) for row in rows.values())
        cells = (cell(rows, *column[1:]) for column in COLUMNS)
        counts = f"{ovens}; {len(rows)}; {refused}; {trips}"
        yield f"| {name.removeprefix('first look, ')} | {counts} | {' | '.join(cells)} |"


if __name__ == "__main__":
    print("\n".join(lines(json.loads(FIRST.read_text(encoding="utf-8")))))
