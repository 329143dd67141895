"""An answer is checked at once: the example with it must be a file without a mistake at its key."""

import re
from collections.abc import Container, Mapping
from copy import deepcopy
from typing import Any

from kilnctl.cli.oven.oven_file.asking.answers_so_far import YOUR_OWN, so_far
from kilnctl.cli.oven.oven_file.file_text import LISTS, Path, dotted, written
from kilnctl.config.oven import Oven
from kilnctl.config.port_path import is_network
from kilnctl.errors import ConfigError
from kilnctl.tomlfile import loads

NAMED = re.compile(
    r"\b(?:(?:port|device|signal|output)\.[a-z_0-9]+|dead_man|identity|switching|arm(?=\.\d))\b"
)
Made = Mapping[Path, Mapping[str, Any]]  # tables of which some keys are answered


def checked(
    example: Mapping[str, Any], path: Path, answer: Any, taken: Container[str], made: Made | None = None
) -> Any:
    """Return the answer if the example with it has no mistake at this key. Raises ConfigError.

    `made` are the answers before it: in the same table, as decimals go with a format that has them, and the
    ports, by which a unit number is judged.
    """
    if answer == "":
        where = "" if path[-1] in YOUR_OWN else ": look in the device's table or on its plate"
        raise ConfigError(f"this one has no default{where}")
    port, first = next(iter(example["port"].items()))
    if path == ("port", port, "path") and is_network(str(first["path"])) and not is_network(answer):
        raise ConfigError(f'a network address begins with tcp:// or socket://: "tcp://{answer}"')
    if path == ("name",) and answer in taken:
        raise ConfigError(
            f"there is an oven {answer} already; take another name, or q and `kilnctl oven change`"
        )
    tried = deepcopy(dict(example))
    known = made or {}
    if path[0] == "device":
        tried["port"] |= {one[1]: dict(keys) for one, keys in known.items() if one[:-1] == ("port",)}
    table: Any = tried
    for key in path[:-1]:
        table = table[key][0] if key in LISTS else table[key]
    table |= known.get(path[:-1], {})
    table[path[-1]] = answer
    listed = f"{path[0]}[1]" if path[0] in LISTS else path[0]
    for line in _mistakes(tried):
        if f": {dotted((listed, *path[1:]))}: " in line:
            raise ConfigError(f"{dotted(path)}: {line.partition(': ')[2].partition(': ')[2]}")
    return answer


def contradiction(example: Mapping[str, Any], answered: Mapping[Path, Any], path: Path) -> str:
    """Return what cannot be in a table beside the answers before it, empty where all can."""
    known = {dotted(one) for one in answered}
    for line in _mistakes(so_far(example, answered)):
        told = set(NAMED.findall(line))
        if dotted(path) in told <= known:
            return line.removeprefix("oven:").lstrip("0123456789: ")
    return ""


def _mistakes(file: dict[str, Any]) -> list[str]:
    try:
        loads(written(file), Oven, ConfigError, "oven")
    except ConfigError as e:
        return str(e).splitlines()
    return []
