"""What an oven file has, and may have: said where a key is typed that it cannot have."""

import difflib
from collections.abc import Iterator
from typing import Any

from kilnctl.cli.oven.oven_file.more_keys import more_keys
from kilnctl.cli.oven.oven_file.more_places import others
from kilnctl.cli.oven.oven_file.other_kinds import kind_of
from kilnctl.config.changed_file import Key, dotted, is_table, keys_below, value_at
from kilnctl.config.oven import Oven

GROUPS = ("port", "device", "signal", "output", "dead_man", "arm", "identity")  # whose keys more_keys knows
MOST, ALIKE, ALIKE_WORDS = 3, 0.75, 0.6


def no_such_key(data: dict[str, Any], key: Key) -> str:
    """Say that a file has no such key: which are nearest, and what stands where it was looked for."""
    typed = dotted(key)
    near = nearest(data, typed)
    mean = f"; do you mean {' or '.join(near)}?" if near else "."
    above = next(n for n in range(len(key) - 1, -1, -1) if n == 0 or is_table(value_at(data, key[:n])))
    return f"there is no {typed}{mean}" + (f" {_there(data, key[:above])}" if above or not near else "")


def nearest(data: dict[str, Any], typed: str) -> list[str]:
    """Return the names nearest to what was typed: alike as a whole, or at their end."""
    known = list(dict.fromkeys((*_keys(data), *_may_have(data))))
    ends = [one for one in known if f".{one}".endswith(f".{typed}")]
    if ends:
        return ends[:MOST]
    if alike := difflib.get_close_matches(typed, known, n=MOST, cutoff=ALIKE):
        return alike
    last = {one.rpartition(".")[2]: one for one in reversed(known)}
    words = difflib.get_close_matches(typed.rpartition(".")[2], last, n=MOST, cutoff=ALIKE_WORDS)
    return [last[word] for word in words]


def _there(data: dict[str, Any], table: Key) -> str:
    """Say what a table has, or the file where it is none."""
    if table:
        return f"{dotted(table)} has {', '.join(_below(value_at(data, table)))}"
    plain = [name for name, one in data.items() if not is_table(one)]
    return f"The file has {', '.join(plain)}; and the tables {', '.join(n for n in data if n not in plain)}"


def _below(table: Any) -> list[str]:
    return [str(n + 1) for n in range(len(table))] if isinstance(table, list) else list(table)


def _keys(data: dict[str, Any]) -> Iterator[str]:
    """Yield every table and key of a file."""
    for name in keys_below(data):
        words = name.split(".")
        yield from (".".join(words[:n]) for n in range(1, len(words) + 1))


def _may_have(data: dict[str, Any]) -> Iterator[str]:
    """Yield what this file may have and has not."""
    yield from (field.alias or name for name, field in Oven.model_fields.items())
    yield from (f"{group}.{name}" for group in ("signal", "output") for name in others(group, data))
    for path, table in _tables(data, ()):
        words = tuple(word for word in path if isinstance(word, str))
        if words[0] in GROUPS and (len(words) > 1 or words[0] in ("dead_man", "arm", "identity")):
            device = table if words[0] == "device" else data["device"].get(table.get("device"), {})
            yield from (f"{dotted(path)}.{one}" for one in more_keys(words, kind_of(device)))


def _tables(data: Any, path: Key) -> Iterator[tuple[Key, dict[str, Any]]]:
    if isinstance(data, dict) and path and not all(is_table(one) for one in data.values()):
        yield path, data
    if is_table(data):
        inside = enumerate(data) if isinstance(data, list) else data.items()
        for name, one in inside:
            yield from _tables(one, (*path, name))
