"""From a module to its tests: a file of its name, or the one that `where_tested.txt` names; it reaches it."""

import ast
import re
from collections import defaultdict
from functools import cache
from pathlib import Path

from house.source_tree import tree
from house.test_circles import name_of

from kilnctl.cli.main import GROUPS
from kilnctl.guide.pages import pages

TOP = Path(__file__).parents[2]
TESTS = TOP / "tests"
MODULES = {
    name_of(path): path
    for package in ("kilnctl", "simulator")
    for path in sorted((TOP / package).rglob("*.py"))
}
BY_STEM = defaultdict(set)
for module in MODULES.values():
    if module.name != "__init__.py":
        BY_STEM[module.stem].add(module)
LIST = Path(__file__).with_name("where_tested.txt")
WHERE = dict(line.split() for line in LIST.read_text(encoding="utf-8").splitlines())
MOST_ELSEWHERE = 175  # may only shrink: what comes new gets a test file of its name (a small one)
STEPS = 4  # imports from the test file to the module; in a process of its own, or by a command, counts as one
FRONT_DOOR = "kilnctl.cli.main"


def test_a_unit_test_is_found_by_the_name_of_what_it_tests() -> None:
    """In the folder of the room: `test_latch.py`, or `test_latch_upgrade.py` for one side of it.

    What tests a whole room bears the room's name.
    """
    units = TOP / "tests" / "unit"
    lost = []
    for path in units.rglob("test_*.py"):
        folder = path.parent.relative_to(units)
        room = TOP / folder if folder.parts[:1] == ("simulator",) else TOP / "kilnctl" / folder
        names = {module.stem for module in room.glob("*.py")} | {room.name}
        words = path.stem.removeprefix("test_").split("_")
        if not any("_".join(words[:count]) in names for count in range(1, len(words) + 1)):
            lost.append(str(path.relative_to(units)))
    assert sorted(lost) == []


def modules_of(test: Path) -> set[Path]:
    """Return what a test file bears the name of: in the folder of a room that room's, else of any room.

    `test_plant.py` or `test_sim_plant.py`, or one side of it: `test_plant_door.py`. `test_curve_dose.py` is
    of curve_dose, not of curve.
    """
    words = test.stem.removeprefix("test_").removeprefix("sim_").split("_")
    names = ("_".join(words[:count]) for count in range(len(words), 0, -1))
    named = next((BY_STEM[name] for name in names if name in BY_STEM), set())
    folder = test.parent.relative_to(TESTS / "unit") if TESTS / "unit" in test.parents else Path("nowhere")
    return {path for path in named if path.parent in (TOP / folder, TOP / "kilnctl" / folder)} or named


def test_a_module_has_a_test_of_its_name_or_the_list_says_where() -> None:
    """Benches do not count."""
    every = set().union(*BY_STEM.values())
    tested = set().union(
        *(modules_of(path) for path in TESTS.rglob("test_*.py") if "bench" not in path.parts)
    )
    without = {str(path.relative_to(TOP)) for path in every - tested}
    assert sorted(without - set(WHERE)) == [], "write a test file of this name (a small one)"
    assert sorted(set(WHERE) - without) == [], "it has its test now, or is gone: take it out of the list"
    assert len(WHERE) <= MOST_ELSEWHERE


IMPORT = re.compile(r"^ *from ([\w.]+) import (\([^)]*\)|[^\n]*)", re.M)


@cache
def text_of(path: Path) -> str:
    return path.read_text(encoding="utf-8")


@cache
def words_of(path: Path) -> frozenset[str]:
    """Return every word in a file: commands and names of modules are among them."""
    return frozenset(re.findall(r"[\w.-]+", text_of(path)))


@cache
def imported(path: Path) -> frozenset[str]:
    """Return what a file imports: rooms, and what comes from them, under its whole name."""
    found = set(re.findall(r"^import ([\w.]+)", text_of(path), re.M))
    for room, names in IMPORT.findall(text_of(path)):
        found |= {room, *(f"{room}.{name}" for name in re.findall(r"(?<!as )\b\w+", names))}
    return frozenset(found)


@cache
def files_of(path: Path) -> frozenset[Path]:
    """Return a test file with what it imports from among the tests, and the fixtures of its folders."""
    found, todo = set(), [path, *(p / "conftest.py" for p in path.parents if TESTS in (p, *p.parents))]
    while todo:
        one = todo.pop()
        if one not in found and one.is_file():
            found.add(one)
            todo += [TESTS / f"{name.removeprefix('tests.').replace('.', '/')}.py" for name in imported(one)]
    return frozenset(found)


@cache
def commands() -> dict[str, str]:
    """Return the module of each command: the front door imports it when it is asked for."""
    return {word: at.split(":")[0] for group in GROUPS.values() for word, (at, _) in group.items()}


@cache
def next_ones(module: str) -> frozenset[str]:
    """Return what a module imports, or starts as a process of its own."""
    path = MODULES[module]
    started = frozenset() if module == FRONT_DOOR else words_of(path)
    return (imported(path) | started) & MODULES.keys() - {module}


def next_of_all(modules: set[str]) -> set[str]:
    return set().union(*(next_ones(module) for module in modules))


def reached(path: Path) -> set[str]:
    """Return the modules that a test file reaches in a few steps."""
    words = frozenset().union(*(words_of(one) for one in files_of(path)))
    every = set(words | frozenset().union(*(imported(one) for one in files_of(path)))) & MODULES.keys()
    if FRONT_DOOR in every | next_of_all(every) or "kilnctl" in words:
        every |= {module for word, module in commands().items() if word in words}
    front = every
    for _ in range(STEPS - 1):
        front = next_of_all(front) - every
        every |= front
    return every


def test_the_file_that_the_list_names_reaches_its_module() -> None:
    """Seen to fail: of 195 lines by hand six named a file that does not; of pairs at random two in three."""
    reaches = {test: reached(TOP / test) for test in set(WHERE.values())}
    assert [path for path, test in WHERE.items() if name_of(TOP / path) not in reaches[test]] == []


GUIDE = {page.topic: page.text() for page in pages()}
LONG = 8  # characters of a text that no two places have by chance


@cache
def public_names(path: Path) -> frozenset[str]:
    """Return what a module offers: functions, classes, methods, fields, constants; a command its word too."""
    held = [node for node in ast.walk(tree(path)) if isinstance(node, ast.ClassDef)]
    found = {path.stem.removesuffix("_answer").removesuffix("_page")} if "cli" in path.parts else {path.stem}
    for node in [*tree(path).body, *(node for one in held for node in one.body)]:
        match node:
            case ast.FunctionDef(name=name) | ast.AsyncFunctionDef(name=name) | ast.ClassDef(name=name):
                found.add(name)
            case ast.AnnAssign(target=ast.Name(id=name)) | ast.Assign(targets=[ast.Name(id=name)]):
                found.add(name)
    return frozenset(name for name in found if not name.startswith("_"))


@cache
def said_in(path: Path) -> frozenset[str]:
    """Return the texts in a file's code, whole where they are long, and each three words on end of them."""
    every = ast.walk(tree(path))
    told = {id(node.value) for node in every if isinstance(node, ast.Expr)}  # docstrings say nothing
    found: set[str] = set()
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in told:
            words = re.findall(r"[^\W\d_]+", node.value.lower())
            found |= {" ".join(words[at : at + 3]) for at in range(len(words) - 2)}
            found |= {node.value} if len(node.value) >= LONG else set()
    return frozenset(found)


def names_something_of(test: Path, module: Path) -> bool:
    """Return whether a test imports from a module, names what it offers, or expects what it says."""
    name = name_of(module)
    if any(one == name or one.startswith(f"{name}.") for file in files_of(test) for one in imported(file)):
        return True
    asked = " ".join(GUIDE.get(topic, "") for topic in re.findall(r'page\("([\w-]+)"\)', text_of(test)))
    words = {word.lstrip("_") for word in re.findall(r"\w+", text_of(test) + asked)}
    return bool(words & public_names(module) or said_in(test) & said_in(module))


def test_the_file_that_the_list_names_names_something_of_its_module() -> None:
    """To reach a module is not to test it. Seen to fail: on 24 of 197 rows, on two in three at random."""
    silent = [at for at, test in WHERE.items() if not names_something_of(TOP / test, TOP / at)]
    assert silent == []
