"""A command loads what it needs and no more: a question about a heat must not wait for a numeric library.

The aim is 0.15 s of processor for each of the light commands (`tests/bench/test_start_cost.py` measures it);
what is held here is the cause, because the time itself depends on the machine.
"""

import json
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
# Commands that may load the same share a process: what one of them has loaded is told behind it.
ALIKE = {tuple(sorted(may)): [words for words in LIGHT if LIGHT[words] == may] for may in LIGHT.values()}
ASK = """
import json, sys
from kilnctl.cli.main import run
for words in json.loads(sys.argv[1]):
    before = set(sys.modules)
    run(words)
    print()
    print("LOADED", *words, ":", *set(sys.modules) - before)
"""


def loaded(commands: list[tuple[str, ...]], folder: Path) -> dict[str, set[str]]:
    """Return what each command loads on top of those before it, in one process and a home of its own."""
    environ = {**os.environ, "KILNCTL_HOME": str(folder)}
    done = subprocess.run(
        [sys.executable, "-c", ASK, json.dumps(commands)],
        env=environ,
        capture_output=True,
        text=True,
        check=False,
    )
    lines = [line.removeprefix("LOADED ") for line in done.stdout.splitlines() if line.startswith("LOADED")]
    assert len(lines) == len(commands), done.stderr
    return {words: set(modules.split()) for words, _, modules in (line.rpartition(" :") for line in lines)}


@pytest.mark.parametrize("may", ALIKE, ids=lambda may: "-".join(may) or "nothing")
def test_commands_load_no_more_than_they_need(may: tuple[str, ...], tmp_path: Path) -> None:
    """Seen to fail with `dry-run --help` and `prove --help`, which loaded all that heats."""
    new = loaded(ALIKE[may], tmp_path)
    heavy = {words: modules & (HEAVY | PAGE) - set(may) for words, modules in new.items()}
    assert {words: modules for words, modules in heavy.items() if modules} == {}, "loaded for nothing"


def test_an_off_at_the_port_loads_next_to_nothing() -> None:
    """A dataclass alone costs 15 ms of the 150 that an off may take; readings and a latch's words 80."""
    way = "import kilnctl.cli.heat.off, kilnctl.devices.emergency_off, kilnctl.devices.languages.modbus, sys"
    done = subprocess.run(
        [sys.executable, "-c", f"{way}; print(*sys.modules)"], capture_output=True, text=True, check=True
    )
    heavy = {"inspect", "dataclasses", "kilnctl.readings", "kilnctl.units", "kilnctl.marks.latch"}
    assert not heavy & set(done.stdout.split())
