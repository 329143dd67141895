"""Every text that a person can meet, extracted: words in code, help of commands, guide, pages, data files."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

from house.source_tree import tree

TOP = Path(__file__).parents[2]
ROOMS = ("kilnctl", "simulator", "profiles")
# Docstrings of functions here are the help of commands; elsewhere they are for builders.
HELP = "kilnctl/cli"


class Said(NamedTuple):
    """One text, and where it stands."""

    where: str
    words: str


@cache
def texts() -> tuple[Said, ...]:
    """Return every text; what stands in code in pieces is joined with … for a value."""
    paths = [path for room in ROOMS for path in sorted((TOP / room).rglob("*"))]
    return tuple(said for path in [*paths, TOP / "README.md"] for said in _of(path))


def _of(path: Path) -> Iterator[Said]:
    if path.suffix == ".py":
        yield from _in_code(path)
    elif path.suffix in (".toml", ".html", ".js") or (path.suffix == ".md" and _for_users(path)):
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            if " " in line.strip():
                yield Said(f"{path.relative_to(TOP)}:{number}", line.strip())


def _for_users(path: Path) -> bool:
    """Return whether a page is for users: the guide and the README; other pages are for builders."""
    return "guide" in path.relative_to(TOP).parts or path == TOP / "README.md"


def _in_code(path: Path) -> Iterator[Said]:
    name, nodes = str(path.relative_to(TOP)), list(ast.walk(tree(path)))
    docstrings = {id(node.body[0].value): node for node in nodes if _documented(node)}  # type: ignore[attr-defined]
    inside = {id(part) for node in nodes if isinstance(node, ast.JoinedStr) for part in node.values}
    for node in nodes:
        words = _words(node)
        if words is None or id(node) in inside:
            continue
        of = docstrings.get(id(node))
        if of is not None and not (name.startswith(HELP) and isinstance(of, ast.FunctionDef)):
            continue
        if of is not None and of.name.startswith("_"):  # type: ignore[attr-defined]
            continue
        yield Said(f"{name}:{node.lineno}", " ".join(words.split()))  # type: ignore[attr-defined]


def _documented(node: ast.AST) -> bool:
    kinds = (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)
    return isinstance(node, kinds) and ast.get_docstring(node, clean=False) is not None


def _words(node: ast.AST) -> str | None:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(p.value if isinstance(p, ast.Constant) else "…" for p in node.values)  # type: ignore[misc]
    return None


def matches(pattern: str) -> list[Said]:
    """Return the texts in which a pattern occurs, in any case of letters."""
    found = re.compile(pattern, re.IGNORECASE)
    return [said for said in texts() if found.search(said.words)]


if __name__ == "__main__":
    for said in texts():
        print(f"{said.where}: {said.words}")
