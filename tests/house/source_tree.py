"""The syntax tree of a source file, read once for all rules that look at it."""

import ast
from functools import cache
from pathlib import Path


@cache
def tree(path: Path) -> ast.Module:
    """Return the tree of a file. Nobody changes it: the next rule looks at the same one."""
    return ast.parse(path.read_text(encoding="utf-8"), str(path))
