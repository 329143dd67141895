"""One word, one thing: no class is defined twice; but for the commands no file name stands in two rooms."""

import ast
from collections import defaultdict
from pathlib import Path

TOP = Path(__file__).parents[2] / "kilnctl"
COMMANDS = TOP / "cli"  # a file there bears the name of its command, as the code that carries it out may too
LONGEST_LINES = 390


def modules() -> list[Path]:
    return [path for path in sorted(TOP.rglob("*.py")) if path.name != "__init__.py"]


def test_no_class_is_defined_twice() -> None:
    where = defaultdict(list)
    for path in modules():
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef):
                where[node.name].append(str(path.relative_to(TOP)))
    assert {name: files for name, files in where.items() if len(files) > 1} == {}


def test_no_file_name_stands_in_two_rooms() -> None:
    where = defaultdict(list)
    for path in modules():
        if COMMANDS not in path.parents:
            where[path.stem].append(str(path.relative_to(TOP)))
    assert {stem: files for stem, files in where.items() if len(files) > 1} == {}


def test_no_module_grows_too_long() -> None:
    lines = {str(p.relative_to(TOP)): len(p.read_text(encoding="utf-8").splitlines()) for p in modules()}
    assert {name: count for name, count in lines.items() if count > LONGEST_LINES} == {}
