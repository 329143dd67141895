"""A command loads what it needs and no more: a question about a heat must not wait for a numeric library.

The aim is 0.15 s of processor for each of the light commands (`tests/bench/test_start_cost.py` measures it);
what is held here is the cause, because the time itself depends on the machine.
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

HEAVY = {
    "numpy",
    "scipy",
    "matplotlib",
    "pydantic",
    "serial",
    "minimalmodbus",
    "sqlite3",
    "textual",
    "tomlkit",
}
LINE = {"cyclopts"}  # reads the words of a command; the front door itself does without
PAGE = LINE | {"rich"}  # draws the help page
LIGHT: dict[tuple[str, ...], set[str]] = {
    ("--help",): set(),
    (): set(),
    ("no-such-command",): set(),
    ("off",): set(),
    ("status",): set(),
    ("status", "--json"): LINE,
    ("answer", "done"): set(),
    ("answer", "no-such-reply"): PAGE,
    ("adjust", "next"): LINE,
    ("acknowledge",): set(),
    ("acknowledge", "--oven", "tempering-oven"): LINE,
    ("shelve", "supply", "--why", "the new meter reads low"): LINE,
    ("off", "--help"): PAGE,
    ("status", "--help"): PAGE,
    ("answer", "--help"): PAGE,
    ("acknowledge", "--help"): PAGE,
    ("care", "--help"): PAGE,
    ("part", "--help"): PAGE,
    ("figure", "--help"): PAGE,
    ("plan", "--help"): PAGE,
    ("dry-run", "--help"): PAGE,
    ("prove", "--help"): PAGE,
    # these need some of it
    ("runs",): LINE | {"sqlite3", "numpy"},
    # what a maker types most; in a shop without a logbook, of an oven that has not been learned
    ("plan", "gouge-o1-temper", "--oven", "tempering-oven"): PAGE | {"pydantic"},
    ("figure", "temper", "60", "--steel", "O1"): LINE | {"pydantic"},
    ("figure", "hardness", "200C", "2h", "--steel", "O1"): LINE | {"pydantic"},
}
ASK = """
import sys
from kilnctl.cli.main import run
run(sys.argv[1:])
print("LOADED", *sys.modules)
"""


def loaded(words: tuple[str, ...], folder: Path) -> set[str]:
    """Return the modules that a command has loaded in a process and a home of its own."""
    environ = {**os.environ, "KILNCTL_HOME": str(folder)}
    done = subprocess.run(
        [sys.executable, "-c", ASK, *words], env=environ, capture_output=True, text=True, check=False
    )
    (line,) = [line for line in done.stdout.splitlines() if line.startswith("LOADED")]
    return set(line.split()[1:])


@pytest.mark.parametrize("words", LIGHT, ids=" ".join)
def test_a_command_loads_no_more_than_it_needs(words: tuple[str, ...], tmp_path: Path) -> None:
    heavy = loaded(words, tmp_path) & (HEAVY | PAGE)
    assert heavy <= LIGHT[words], f"{' '.join(words)} loads {sorted(heavy - LIGHT[words])} for nothing"


def test_an_off_at_the_port_loads_next_to_nothing() -> None:
    """A dataclass alone costs 15 ms of the 150 that an off may take; readings and a latch's words 80."""
    way = "import kilnctl.cli.heat.off, kilnctl.devices.emergency_off, kilnctl.devices.modbus, sys"
    done = subprocess.run(
        [sys.executable, "-c", f"{way}; print(*sys.modules)"], capture_output=True, text=True, check=True
    )
    heavy = {"inspect", "dataclasses", "kilnctl.readings", "kilnctl.units", "kilnctl.marks.latch"}
    assert not heavy & set(done.stdout.split())
