"""A formula says where it is from: in the function that reckons it, or on top of its file."""

import ast
import re
from pathlib import Path

import pytest
from house.source_tree import tree

TOP = Path(__file__).parents[2] / "kilnctl"
ROOMS = ("model", "treatment/steel", "care", "forecast")
MATHS = {"exp", "expm1", "log", "log10", "sqrt"}
# A year, a standard, or plainly said: a textbook's, a balance that was solved, our own fit, memory, practice.
SOURCE = re.compile(
    r"\b(18|19|20)\d\d\b|\bISO\b|\bASTM\b|\bEN 1993|\bIEC\b|\bJCGM\b|textbook|energy balance|"
    r"Stefan-Boltzmann|Hollomon|van Bohemen|Kalman|_SOURCE\b|regression|from memory|common practice|"
    r"normal distribution"
)


def reckons(node: ast.AST) -> bool:
    """Return whether a function of mathematics stands in it, or a power above two."""
    return any(
        (isinstance(part, ast.Attribute) and part.attr in MATHS)
        or (
            isinstance(part, ast.BinOp)
            and isinstance(part.op, ast.Pow)
            and ast.unparse(part.right) not in "12"
        )
        for part in ast.walk(node)
    )


@pytest.mark.parametrize("room", ROOMS)
def test_a_public_formula_names_its_source(room: str) -> None:
    bare = []
    for path in sorted((TOP / room).rglob("*.py")):
        top = tree(path)
        for node in ast.walk(top):
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_") and reckons(node):
                said = f"{ast.get_docstring(node)} {ast.get_docstring(top)}"
                if not SOURCE.search(said):
                    bare.append(f"{path.relative_to(TOP)}: {node.name}")
    assert bare == []
