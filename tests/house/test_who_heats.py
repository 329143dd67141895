"""Only a few places can switch heat on, and each of them has asked for permission in the same process."""

import ast
from functools import cache
from pathlib import Path

from house.source_tree import tree

import kilnctl

ROOT = Path(kilnctl.__file__).parent
# Where heat is written. A rig and the dead-man's test write it for a drill or for an unattended start; a
# simulator's line is timed with the heat off.
DRIVES = {
    "heat/runner.py",
    "commissioning/drills/drill_rig.py",
    "permits/heated_ticks.py",
    "cli/heat/simulated_pace.py",
}
# Where what drives is made: a heat and a drill, which ask first; a rehearsal, which has no port; two tests of
# a dead-man, inside a drill and in the thread of a heat that was admitted.
MAKES = {
    "Runner": {"processes/start_job.py", "rehearsal/dry_run.py"},
    "DrillRig": {"commissioning/drills/drills.py", "commissioning/drills/dead_man_kill_test.py"},
    "Watched": {"processes/unattended_trial.py"},
    "start_job": {"processes/controller.py"},
    "permit": {"permits/admission.py"},
    "permit_drill": {"commissioning/drills/drill_process.py"},
}
NAMES = {*MAKES, "drive", "admit", "insist", "open_oven_io", "_insist", "mark", "_drilled"}


@cache
def used() -> dict[str, dict[str, int]]:
    """Return file -> name -> the first line where it is called, or for an attribute touched."""
    found: dict[str, dict[str, int]] = {}
    for path in ROOT.rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        if not any(name in text for name in NAMES):
            continue
        lines: dict[str, int] = {}
        for node in ast.walk(tree(path)):
            if isinstance(node, ast.Attribute):
                name = node.attr
            elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                name = node.func.id
            else:
                continue
            if name in NAMES:
                lines[name] = min(node.lineno, lines.get(name, node.lineno))
        found[str(path.relative_to(ROOT))] = lines
    return found


def users(name: str) -> set[str]:
    return {path for path, lines in used().items() if name in lines}


def test_heat_is_written_in_four_places():
    assert users("drive") == DRIVES


def test_what_writes_it_is_made_where_permission_was_asked():
    assert {name: users(name) for name in MAKES} == MAKES


def test_a_start_is_admitted_before_a_port_is_opened_and_a_drill_before_its_mark():
    start, drill = used()["processes/start_job.py"], used()["commissioning/drills/drill_process.py"]
    assert start["admit"] < start["insist"] < start["open_oven_io"]
    assert drill["_insist"] < drill["mark"] < drill["_drilled"]
