"""What of an oven file is told already, and which keys nobody is offered an invented answer for."""

from collections.abc import Iterator, Mapping
from copy import deepcopy
from typing import Any

from kilnctl.cli.oven.oven_file.file_text import LISTS, Path

NEEDED = {"process", "heater"}  # of signals and outputs; all others may be missing on a bench
# Whoever presses Enter here would take an invented number for his own.
TYPED = {
    *("build", "takes", "baud", "line_end"),
    *("name", "power", "limit", "isolator", "path", "address", "register", "low", "high"),
    *("write", "then", "counts_to", "drops_after", "holds", "park", "highest", "link_loss", "expect"),
}
# No sheet tells how warm its terminals may get, and no heat goes by it.
OFFERED = {("signal", "cold_junction", "low"), ("signal", "cold_junction", "high")}
SHEETS_OWN = {"open_values", "bit"}  # likewise, and Enter leaves it out: not every sheet has it
# Of these Enter takes what a file has that does not tell them, never the number of an example's own board.
USUAL = {"on": 1}
YOUR_OWN = ("name", "isolator", "path", "takes")  # what no table and no plate says


def so_far(example: Mapping[str, Any], answered: Mapping[Path, Any]) -> dict[str, Any]:
    """Return the answers as a file, with the example where one is needed and not given yet."""
    file = {key: deepcopy(one) for key, one in example.items() if key not in ("dead_man", *LISTS)}
    for group in ("signal", "output"):
        file[group] = {name: one for name, one in file[group].items() if name in NEEDED}
    for path, made in answered.items():
        table = file.setdefault(path[0], {}) if len(path) > 1 else file
        table[path[-1]] = [made] if path[0] in LISTS else made
    return file


def answers(table: Mapping[str, Any], before: Path = ()) -> Iterator[tuple[Path, Any]]:
    """Yield the single answers of a table, those of a place inside it too, each with its path there."""
    for key, one in table.items():
        if isinstance(one, Mapping):
            yield from answers(one, (*before, key))
        else:
            yield (*before, key), one
