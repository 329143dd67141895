"""The rooms of the house know each other in one direction only; the order stands in pyproject.toml."""

import ast
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from house.source_tree import tree

TOP = Path(__file__).parents[2]
ROOMS = {path.parent.name for path in (TOP / "kilnctl").glob("*/__init__.py")}


def test_rooms_know_each_other_in_one_direction() -> None:
    linter = Path(sys.executable).with_name("lint-imports")
    done = subprocess.run([linter, "--no-cache"], cwd=TOP, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout
    looked_at = re.search(r"Analyzed (\d+) files", done.stdout)
    assert looked_at is not None
    assert int(looked_at[1]) > 100  # the whole house was looked at, not an empty one


def test_every_room_stands_in_the_order() -> None:
    order = (TOP / "pyproject.toml").read_text(encoding="utf-8").split("layers = [")[1].split("\n]")[0]
    assert set(re.findall(r"\w+", order)) >= ROOMS


@pytest.mark.parametrize(
    ("thing", "may"),
    [("serial", {"devices"}), ("simulator", {"cli", "rehearsal"})],
    ids=("serial", "simulator"),
)
def test_every_other_room_is_kept_from_it(thing: str, may: set[str]) -> None:
    """A new room would else be free to. Seen to fail: set-up and command line might load a serial library."""
    settings = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"]
    kept = [c for c in settings["contracts"] if thing in c.get("forbidden_modules", ())]
    from_it = {source.removeprefix("kilnctl.") for one in kept for source in one["source_modules"]}
    assert ROOMS - {"kilnctl"} - from_it == may


def test_a_room_is_seen_at_a_glance() -> None:
    """Above 25 files a room gets rooms of its own."""
    folders = [path.parent for top in ("kilnctl", "simulator") for path in (TOP / top).rglob("__init__.py")]
    full = {
        str(f.relative_to(TOP)): len([p for p in f.glob("*.py") if p.name != "__init__.py"]) for f in folders
    }
    assert {room: count for room, count in full.items() if count > 25} == {}


def test_one_engine_moves_a_heat_that_is_foreseen() -> None:
    """Who steps both a profile and an oven model foresees a heat: plan, curve, live view share one.

    A real heat moves the profile by readings, the interlocks and the control a model by what was switched.
    """
    profile, oven = "kilnctl.profile.cursor", "kilnctl.model.oven_model"
    both = []
    for path in (TOP / "kilnctl").rglob("*.py"):
        steps = {
            node.module
            for node in ast.walk(tree(path))
            if isinstance(node, ast.ImportFrom) and "advance" in {name.name for name in node.names}
        }
        if {profile, oven} <= steps:
            both.append(str(path.relative_to(TOP)))
    assert both == ["kilnctl/forecast/heat_simulation.py"]
