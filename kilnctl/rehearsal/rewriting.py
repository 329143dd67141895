"""What the compiler is given: the source, with two things written so that it makes plain C of them.

A constant is declared `Final`: its number stands in the code then, instead of being looked up by its name at
every use. A `value` is written out as the class that its decorator would make: the compiler knows no such
decorator, and would leave the class to Python.
"""

import ast

_IMPORTS = "from dataclasses import dataclass; from typing import Final, final"
_NUMBERS = (ast.Constant, ast.UnaryOp, ast.BinOp, ast.operator, ast.unaryop)


def rewritten(text: str) -> str:
    """Return the source of a module as the compiler is given it."""
    lines, body = text.splitlines(), ast.parse(text).body
    for node in reversed(body):
        if isinstance(node, ast.Assign):
            _put(lines, node, _declared(node))
        elif isinstance(node, ast.ClassDef) and _is_value(node):
            _write_out(lines, node)
    first = next((n.lineno for n in body if isinstance(n, ast.Import | ast.ImportFrom)), len(lines) + 1)
    lines.insert(first - 1, _IMPORTS)
    return "\n".join(lines) + "\n"


def _put(lines: list[str], node: ast.stmt, instead: list[str]) -> None:
    if instead:
        lines[node.lineno - 1 : node.end_lineno] = instead


def _declared(node: ast.Assign) -> list[str]:
    """Return the declarations of constants that are numbers; nothing for any other assignment."""
    names, values = [node.targets[0]], [node.value]
    if isinstance(node.targets[0], ast.Tuple) and isinstance(node.value, ast.Tuple):
        names, values = node.targets[0].elts, node.value.elts
    constant = all(isinstance(name, ast.Name) and name.id.isupper() for name in names)
    if len(node.targets) > 1 or not constant or not all(map(_is_number, values)):
        return []
    return [f"{ast.unparse(n)}: Final = {ast.unparse(v)}" for n, v in zip(names, values, strict=True)]


def _is_number(node: ast.expr) -> bool:
    parts = list(ast.walk(node))
    constants = [part.value for part in parts if isinstance(part, ast.Constant)]
    return all(isinstance(part, _NUMBERS) for part in parts) and all(
        isinstance(number, int | float) and not isinstance(number, bool) for number in constants
    )


def _is_value(node: ast.ClassDef) -> bool:
    return any(isinstance(name, ast.Name) and name.id == "value" for name in node.decorator_list)


def _write_out(lines: list[str], node: ast.ClassDef) -> None:
    """Write a value's fields without defaults, its `__init__` after them, and what it is before it."""
    fields = [part for part in node.body if isinstance(part, ast.AnnAssign)]
    named = [(ast.unparse(field.target), ast.unparse(field.annotation), field.value) for field in fields]
    asked = [f"{n}: {kind}" + (f" = {ast.unparse(v)}" if v else "") for n, kind, v in named]
    init = [f"    def __init__(self, {', '.join(asked)}) -> None:"]
    init += [f"        self.{name} = {name}" for name, _, _ in named]
    end = fields[-1].end_lineno or 0
    lines[end:end] = ["", *init]
    for field, (name, kind, _) in reversed(list(zip(fields, named, strict=True))):
        _put(lines, field, [f"    {name}: {kind}"])
    first = node.decorator_list[0].lineno
    lines[first - 1 : node.lineno - 1] = ["@final", "@dataclass(init=False, unsafe_hash=True)"]
