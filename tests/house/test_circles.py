"""No circle of modules anywhere, in a room or between rooms, also where only types are imported.

Modules that know each other in a circle can be read, moved and tested only together.
"""

import ast
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest
from house.source_tree import tree

TOP = Path(__file__).parents[2]


def name_of(path: Path) -> str:
    parts = path.relative_to(TOP).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def known_to(path: Path, modules: set[str]) -> set[str]:
    """Return the modules that a file imports, at its top, in a function or for its types only."""
    found = set()
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            inside = {f"{node.module}.{alias.name}" for alias in node.names} & modules
            # `from room import module` knows the module; only other names come from the room itself
            found |= inside if len(inside) == len(node.names) else inside | {node.module}
    return (found & modules) - {name_of(path)}


@pytest.mark.parametrize("package", ["kilnctl", "simulator"])
def test_no_modules_know_each_other_in_a_circle(package: str) -> None:
    paths = sorted((TOP / package).rglob("*.py"))
    modules = {name_of(path) for path in paths}
    graph = {name_of(path): known_to(path, modules) for path in paths}
    assert sum(map(len, graph.values())) > len(paths)  # the files were read
    circle: list[str] = []
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as e:
        circle = e.args[1]
    assert circle == []
