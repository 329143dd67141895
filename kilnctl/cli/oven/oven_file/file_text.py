"""The text of an oven file from plain data, each key once with what the guide says of it."""

import json
import math
import re
from collections.abc import Callable, Iterator
from typing import Any

Path = tuple[str, ...]
LISTS = ("identity", "arm")
CHOSEN = ("words", "tell")  # the names in them are those of a board's values


def dotted(path: Path) -> str:
    """Return a path as messages and questions say it."""
    return ".".join(path)


def written(data: dict[str, Any], meaning: Callable[[Path], str] = lambda path: "") -> str:
    """Return plain data as the text of an oven file, each key once with what `meaning` says of it."""
    lines: list[str] = []
    told: set[Path] = set()

    def tell(path: Path) -> None:
        words = meaning(path)
        if words and (path[0], path[-1]) not in told:
            told.add((path[0], path[-1]))
            lines.append(f"# {path[-1]}: {words}")

    def put(path: Path, value: Any) -> None:
        tell(path)
        for inside in _inside(path, value):
            tell(inside)
        lines.append(f"{_key_text(path[-1])} = {_inline(value)}")

    for key, value in data.items():
        if not _is_tables(key):
            put((key,), value)
    for key, value in data.items():
        for path, table in _tables(key, value) if _is_tables(key) else ():
            lines.append("")
            if key in ("signal", "output"):
                tell(path)
            lines.append(f"[[{key}]]" if key in LISTS else f"[{dotted(path)}]")
            for name, one in table.items():
                put((*path, name), one)
    return "\n".join([*lines, ""])


def _is_tables(key: str) -> bool:
    return key in ("port", "device", "signal", "output", "dead_man", *LISTS)


def _tables(key: str, value: Any) -> list[tuple[Path, dict[str, Any]]]:
    if key in LISTS:
        return [((key,), one) for one in value]
    if key == "dead_man":
        return [((key,), value)]
    return [((key, name), one) for name, one in value.items()]


def _inside(path: Path, value: Any) -> Iterator[Path]:
    """Yield the keys inside a value that is a table or some of them; names that a maker chose are none."""
    if isinstance(value, list):
        for one in value:
            yield from _inside(path, one)
    elif isinstance(value, dict):
        for key, one in value.items():
            if path[-1] not in CHOSEN:
                yield (*path, key)
            yield from _inside((*path, key), one)


def _key_text(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else json.dumps(key)


def _inline(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key_text(k)} = {_inline(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_inline, value)) + "]"
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)  # nan, as TOML has it
    return json.dumps(value, ensure_ascii=False)
