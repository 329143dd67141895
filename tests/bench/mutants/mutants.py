"""Break the code once, many times: small changes drawn with a fixed seed, each against the tests that own it.

    python tests/bench/mutants/mutants.py interlocks --count 70 --seed 1

Works on a copy of the tree. A change that every test lets pass is printed; RESULTS.md explains those.
"""

import argparse
import ast
import contextlib
import importlib
import os
import random
import resource
import shutil
import signal
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import NamedTuple

import numpy
import pydantic
import pytest
import scipy.optimize

TOP = Path(__file__).parents[3]
COPIED = ("kilnctl", "simulator", "profiles", "tests", "pyproject.toml", "README.md", "DEVELOPERS.md")
LONGEST_CPU_S = 120.0
BLOCKED_S = 900  # one that waits for ever does no work
PRELOADED = (numpy, pydantic, scipy.optimize)  # each fork has them at once
DUTY = " ".join(
    f"tests/unit/control/test_{name}.py"
    for name in ("time_proportioning_limits", "time_proportioning", "switching_window")
)
# Not the tests over real processes: on a busy machine they would kill what nothing has found.
WATCH = " ".join(f"tests/unit/processes/test_{name}.py" for name in ("supervisor", "heartbeat", "controller"))
HEATS = ("runner_ticks", "runner", "runner_waiting", "operator_commands_shelving", "trip_record_standing")
HEATS += ("tick_clocks", "held_back", "heat_state")
TICKS = " ".join(f"tests/unit/heat/test_{name}.py" for name in HEATS)
LIMITS = (
    "tests/unit/interlocks/test_interlocks_limits.py tests/unit/interlocks tests/house/test_interlock_list.py"
)
OVEN_IO = " ".join(
    f"tests/protocol/test_{name}.py"
    for name in ("emergency_off", "emergency_off_for_all", "oven_io", "oven_io_off", "outputs")
)
OFF = " ".join(
    f"tests/unit/processes/test_{name}.py" for name in ("heat_off_words", "off_at_ports", "off_line")
)
# room: (files that are broken, groups of tests that are asked in turn until one fails)
ROOMS: dict[str, tuple[str, tuple[str, ...]]] = {
    "interlocks": ("interlocks/*", (LIMITS,)),
    "duty": ("control/time_proportioning control/switching_window", (DUTY,)),
    "control": ("control/* learning/*", (f"{DUTY} tests/unit/control tests/unit/learning",)),
    "marks": ("marks/*", ("tests/unit/marks tests/explorer",)),
    "permits": ("permits/*", ("tests/unit/permits tests/unit/commissioning",)),
    "off": ("processes/heat_off processes/off_*", (f"{OFF} tests/explorer",)),
    "supervisor": ("processes/supervisor processes/heartbeat", (WATCH,)),
    "runner": ("heat/runner heat/totals heat/progress heat/control_step heat/trip_record", (TICKS,)),
    "oven_io": ("devices/dead_man_feeder devices/emergency_off devices/oven_io devices/outputs", (OVEN_IO,)),
}
COMPARED = {ast.Lt: (ast.LtE, ast.GtE), ast.LtE: (ast.Lt, ast.Gt), ast.Gt: (ast.GtE, ast.LtE)}
COMPARED |= {ast.GtE: (ast.Gt, ast.Lt), ast.Eq: (ast.NotEq,), ast.NotEq: (ast.Eq,)}
COMPARED |= {ast.Is: (ast.IsNot,), ast.IsNot: (ast.Is,), ast.In: (ast.NotIn,), ast.NotIn: (ast.In,)}
COUNTED = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult}


LOADED = ("control", "devices", "heat", "interlocks", "learning", "logbook")
LOADED += ("marks", "permits", "processes", "rehearsal")
UNMADE = ("annotation", "returns", "decorator_list")


class Mutant(NamedTuple):
    """One change: its file, the whole text with the change made, and the change as a person reads it."""

    path: Path
    text: str
    line: str


def changes(node: ast.AST) -> Iterator[ast.AST]:
    """Yield what may stand in a node's place."""
    match node:
        case ast.Compare(left, [op], right):
            yield from (ast.Compare(left, [other()], right) for other in COMPARED.get(type(op), ()))
        case ast.BoolOp(op, values):
            yield ast.BoolOp(ast.Or() if isinstance(op, ast.And) else ast.And(), values)
            yield values[-1]
        case ast.UnaryOp(ast.Not() | ast.USub(), operand):
            yield operand
        case ast.BinOp(left, op, right) if type(op) in COUNTED:
            yield ast.BinOp(left, COUNTED[type(op)](), right)
        case ast.Constant(bool() as value):
            yield ast.Constant(not value)
        case ast.Constant(int() | float() as value):
            yield from (ast.Constant(value + 1), ast.Constant(value * 1.5 if value else 0.5))
        case ast.IfExp(test, body, orelse):
            yield ast.IfExp(test, orelse, body)
        case ast.If(test, body, orelse):
            yield ast.If(ast.UnaryOp(ast.Not(), test), body, orelse)
        case ast.Assign() | ast.AugAssign() | ast.Expr(ast.Call()):
            yield ast.Pass()
        case ast.Return(value) if value is not None and not isinstance(value, ast.Constant):
            yield ast.Return(ast.Constant(None))


def mutants(path: Path) -> Iterator[Mutant]:
    """Yield every mutant of a file: no annotation, no part of a text, no list of public names."""
    tree = ast.parse((TOP / path).read_text(encoding="utf-8"))
    for parent in live(tree):
        for field, held in ast.iter_fields(parent):
            if field in UNMADE:
                continue
            for index, node in enumerate(held if isinstance(held, list) else [held]):
                if not isinstance(node, ast.AST) or "id='__all__'" in ast.dump(node):
                    continue
                for now in changes(node):
                    was = held[:] if isinstance(held, list) else held
                    new = [*was[:index], now, *was[index + 1 :]] if isinstance(was, list) else now
                    setattr(parent, field, new)
                    text = ast.unparse(ast.fix_missing_locations(tree))
                    setattr(parent, field, held)
                    heads = [ast.unparse(ast.fix_missing_locations(n)).splitlines()[0] for n in (node, now)]
                    yield Mutant(path, text, f"{path}:{getattr(node, 'lineno', 0)}: {'  ->  '.join(heads)}")


def live(node: ast.AST) -> Iterator[ast.AST]:
    """Yield what a change of would change what is done."""
    if isinstance(node, ast.JoinedStr):
        return
    yield node
    for field, held in ast.iter_fields(node):
        if field not in UNMADE:
            for inner in held if isinstance(held, list) else [held]:
                if isinstance(inner, ast.AST):
                    yield from live(inner)


def load(copy: Path) -> None:
    """Load the house from the copy, once: a fork then loads anew only what its mutant touches."""
    os.chdir(copy)
    os.environ |= {"KILNCTL_HOME": str(copy / ".home"), "PYTHONPATH": str(copy)}
    sys.path.insert(0, str(copy))
    for room in LOADED:
        for path in sorted(Path("kilnctl", room).glob("*.py")):
            importlib.import_module(name_of(path))


def name_of(path: Path) -> str:
    """Return the name under which a file is imported."""
    return ".".join(path.with_suffix("").parts).removesuffix(".__init__")


def forget(gone: set[str]) -> None:
    """Take modules out of memory, and every module of the house that has taken something from them."""
    house = {n: m for n, m in sys.modules.items() if n.startswith(("kilnctl", "simulator"))}
    left = {n: m for n, m in house.items() if hasattr(m, "__all__") or not hasattr(m, "__path__")}
    while gone:
        for name in gone:
            package, _, leaf = name.rpartition(".")
            vars(house[package]).pop(leaf, None)
            left.pop(name, None)
            sys.modules.pop(name, None)
        gone = {n for n, m in left.items() if gone & owners(m)}


def owners(module: ModuleType) -> set[str]:
    """Return the modules that what a module holds comes from."""
    held = vars(module).values()
    return {v.__name__ if isinstance(v, ModuleType) else getattr(v, "__module__", "") or "" for v in held}


def passes(group: str, changed: set[str], longest_s: float = LONGEST_CPU_S) -> bool:
    """Run tests in a fork that has loaded the house but for what is changed; a hang fails."""
    child = os.fork()
    if child == 0:
        os.setsid()
        forget(changed)
        for stream in (1, 2):
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream)
        signal.setitimer(signal.ITIMER_PROF, longest_s)  # of its own work: a busy machine kills nothing
        signal.alarm(BLOCKED_S)
        os._exit(int(pytest.main(["-q", "-x", "-p", "no:cacheprovider", *group.split()])))
    code = os.waitpid(child, 0)[1]
    with contextlib.suppress(ProcessLookupError):
        os.killpg(child, signal.SIGKILL)
    return code == 0


def main() -> None:
    """Draw, break, ask, print."""
    words = argparse.ArgumentParser()
    words.add_argument("room", choices=ROOMS)
    words.add_argument("--count", type=int, default=100)
    words.add_argument("--seed", type=int, default=1)
    said = words.parse_args()
    patterns, groups = ROOMS[said.room]
    files = [p.relative_to(TOP) for one in patterns.split() for p in sorted(TOP.glob(f"kilnctl/{one}.py"))]
    every = [mutant for path in files for mutant in mutants(path)]
    drawn, left = random.Random(said.seed).sample(every, min(said.count, len(every))), 0
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder)
        for part in (TOP / name for name in COPIED):
            (shutil.copytree if part.is_dir() else shutil.copy)(part, copy / part.name)
        load(copy)
        whole = {name_of(path) for path in files}
        assert all(passes(group, whole) for group in groups), "unbroken code must pass"
        spent = resource.getrusage(resource.RUSAGE_CHILDREN)
        longest_s = min(3.0 * (spent.ru_utime + spent.ru_stime), LONGEST_CPU_S)  # a mutant that hangs
        for number, (path, text, line) in enumerate(drawn, start=1):
            own = f"tests/unit/{path.parent.name}/test_{path.name}"
            (copy / path).write_text(text, encoding="utf-8")
            asked = groups if own in " ".join(groups) or not (copy / own).exists() else (own, *groups)
            if all(passes(group, {name_of(path)}, longest_s) for group in asked):
                left += 1
                print(line, flush=True)
            shutil.copy(TOP / path, copy / path)
            print(f"{number} of {len(drawn)}", file=sys.stderr)
    print(f"{said.room}: {len(drawn)} of {len(every)} mutants (seed {said.seed}), {left} survived")


if __name__ == "__main__":
    main()
