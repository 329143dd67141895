"""One key of a TOML file changed in its text: every comment and every other line stays as it stands."""

import re
import tomllib
from copy import deepcopy
from itertools import pairwise
from typing import Any, NamedTuple

from kilnctl.errors import ConfigError

Key = tuple[str | int, ...]
BY_HAND = "{}: the file is written so that more than this would change; change it with an editor"


class Chunk(NamedTuple):
    """Some lines of a file: a table's header, or one key with its value. `at` is the table they are in."""

    first: int
    end: int
    at: Key
    says: dict[str, Any] | None  # None for a header


def dotted(key: Key) -> str:
    """Return a key as a person types it; what stands in a list is counted from 1."""
    return ".".join(str(part + 1) if isinstance(part, int) else part for part in key)


def value_at(data: Any, key: Key) -> Any:
    """Return the value of a key, None where it is not there."""
    try:
        for part in key:
            data = data[part]
    except (KeyError, IndexError, TypeError):
        return None
    return data


def keys_below(table: Any, before: Key = ()) -> list[str]:
    """Return the keys below a table as a person types them."""
    if is_table(table):
        inside = enumerate(table) if isinstance(table, list) else table.items()
        return [key for name, one in inside for key in keys_below(one, (*before, name))]
    return [dotted(before)]


def is_table(value: Any) -> bool:
    """True for a table, and for a list of them."""
    return isinstance(value, dict) or (isinstance(value, list) and bool(value) and isinstance(value[0], dict))


def typed_key(data: Any, typed: str) -> Key:
    """Return the key that is typed; a table of a list has a number, which may be missing where it has one.

    Raises ConfigError where there are more.
    """
    key: Key = ()
    for word in re.findall(r"[^.\[\]\s]+", typed):
        here = value_at(data, key)
        if isinstance(here, list) and word.isdecimal():
            key = (*key, int(word) - 1)
            continue
        if isinstance(here, list) and len(here) != 1:
            raise ConfigError(
                f"{dotted(key)}: there are {len(here)}, name one: {dotted((*key, 0))} and so on"
            )
        key = (*key, 0, word) if isinstance(here, list) else (*key, word)
    return key


def with_key(text: str, key: Key, value: Any) -> str:
    """Return the text with another value of a key, or without the key where the value is None.

    Raises ConfigError where more than that would change.
    """
    lines, chunks = text.split("\n"), _chunks(text)
    part = _chunk_with(chunks, key) or _chunk_with(chunks, key[:-1])
    if part is not None:
        made = _rewritten("\n".join(lines[part.first : part.end]), key[len(part.at) :], value)
        lines[part.first : part.end] = made.split("\n") if made.strip() else []
    else:
        end = max((one.end for one in chunks if one.at == key[:-1]), default=0)
        lines[end:end] = _rewritten("", key[-1:], value).rstrip("\n").split("\n")
    return _no_more_than(text, "\n".join(lines), key, value)


def with_table(text: str, key: Key, table_text: str, table: dict[str, Any]) -> str:
    """Return the text with a new table at its end. Raises ConfigError as `with_key` does."""
    return _no_more_than(text, f"{text.rstrip()}\n\n{table_text.strip()}\n", key, table)


def without_table(text: str, key: Key) -> str:
    """Return the text with a table turned into comments: who took it out by mistake has it back at once.

    Raises ConfigError as `with_key` does.
    """
    inside = [part for part in _chunks(text) if part.at[: len(key)] == key]
    if not inside:
        return with_key(text, key, None)
    lines = text.split("\n")
    for number in (number for part in inside for number in range(part.first, part.end)):
        lines[number] = f"# {lines[number]}"
    return _no_more_than(text, "\n".join(lines), key, None)


def _chunks(text: str) -> list[Chunk]:
    """Return the parts of a file in their order; blank lines and comments belong to none."""
    found: list[Chunk] = []
    at: Key = ()
    lists: dict[Key, int] = {}
    lines, first = text.split("\n"), 0
    while first < len(lines):
        end, begins = first + 1, lines[first].lstrip()[:1]
        if begins not in ("", "#"):
            while (says := _read("\n".join(lines[first:end]))) is None and end < len(lines):
                end += 1
            at = _named(says, lists) if begins == "[" else at
            found.append(Chunk(first, end, at, None if begins == "[" else says))
        first = end
    return found


def _read(text: str) -> dict[str, Any] | None:
    try:
        return tomllib.loads(text)
    except ValueError:
        return None


def _named(header: Any, lists: dict[Key, int]) -> Key:
    """Return which table a header begins; each of a list of them has its number."""
    key: Key = ()
    while isinstance(header, dict) and header:
        ((name, header),) = header.items()
        key = (*key, name)
    if not isinstance(header, list):
        return key
    lists[key] = lists.get(key, -1) + 1
    return (*key, lists[key])


def _chunk_with(chunks: list[Chunk], key: Key) -> Chunk | None:
    """Return the part in which a key stands, with its table, one beside it or all of it."""
    for part in chunks:
        below = key[len(part.at) :]
        if below and part.says and key[: len(part.at)] == part.at and value_at(part.says, below) is not None:
            return part
    return None


def _rewritten(text: str, key: Key, value: Any) -> str:
    """Return one part's text with another value. Raises ConfigError."""
    import tomlkit

    try:
        document = tomlkit.parse(text)
        table: Any = document
        for part in key[:-1]:
            table = table[part]
        if value is None:
            del table[key[-1]]
        else:
            table[key[-1]] = tomlkit.inline_table() if isinstance(value, dict) else value
            table[key[-1]].update(value) if isinstance(value, dict) else None
        return tomlkit.dumps(document)
    except Exception:  # whatever the library stumbles over: the file is left as it is
        raise ConfigError(BY_HAND.format(dotted(key))) from None


def _no_more_than(before: str, after: str, key: Key, value: Any) -> str:
    """Return the text after a change if it says what it said before but for one key. Raises ConfigError."""
    if _read(after) != _with(tomllib.loads(before), key, value):
        raise ConfigError(BY_HAND.format(dotted(key)))
    return after


def _with(data: dict[str, Any], key: Key, value: Any) -> dict[str, Any]:
    """Return plain data with another value of a key; a list of tables without any is gone."""
    data = deepcopy(data)
    table: Any = data
    for part, then in pairwise(key):
        if isinstance(table, dict):
            table.setdefault(part, [] if isinstance(then, int) else {})
        table = table[part]
    if value is None:
        del table[key[-1]]
    elif isinstance(table, list) and key[-1] == len(table):
        table.append(value)
    else:
        table[key[-1]] = value
    return {name: one for name, one in data.items() if one != []}
