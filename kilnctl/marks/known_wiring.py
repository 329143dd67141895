"""How each oven is wired, as it was read whole: so that off need not load what checks an oven file.

That library takes a third of the half second that an off at the port may last. What is kept is only another
form of one text: the checksum of this text and of the program that read it stands in the file. Whatever is
odd about it means that the oven file is read whole, as if nothing had been kept.
"""

import contextlib
import hashlib
import json
import os
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast
from urllib.parse import quote

import kilnctl
from kilnctl.config import home
from kilnctl.marks import mark_file

if TYPE_CHECKING:
    from pydantic import BaseModel

    from kilnctl.config.oven import Oven

READS = (
    "device_keys.py",
    "line_parts.py",
    "oven.py",
    "oven_checks.py",
    "places.py",
    "port_path.py",
    "wiring.py",
)
# What a place, a port or an oven says of itself beside its keys.
BESIDE_KEYS = (
    "bits_table",
    "registers",
    "where",
    "feeds",
    "is_float",
    "scaled",
    "settings",
    "started_by_feeding",
)


class KeptWiring:
    """Stands for one model of an oven file whose checks were passed: the same names, nothing else."""

    def __init__(self, packed: Mapping[str, Any]) -> None:
        vars(self).update(packed)


def keep(oven: "Oven", text: str) -> None:
    """Keep what was read from the text of an oven file. Never raises: without it off is slower, no more."""
    path = _path(oven.name)
    with contextlib.suppress(OSError):
        path.parent.mkdir(mode=0o700, exist_ok=True)
        said = json.dumps(_packed(oven))
        mark_file.put(path, f"{_proof(text, said)}\n{said}")


def recall(oven: str, text: str) -> "Oven | None":
    """Return the oven of this very text as it was kept; None where nothing whole was. Never raises.

    It has every value of the oven file and of `BESIDE_KEYS`, no more of an `Oven`: enough for `HeatCutter`.
    """
    with contextlib.suppress(OSError, ValueError, RecursionError, KeyError, TypeError, AttributeError):
        proof, _, said = mark_file.text(_path(oven)).partition("\n")
        if proof == _proof(text, said):
            found = cast("Oven", _unpacked(json.loads(said)))
            return found if found.name == oven else None
    return None


def is_kept(oven: object) -> bool:
    """Return whether an oven is one that was recalled."""
    return isinstance(oven, KeptWiring)


def _path(oven: str) -> Path:
    return home.home() / "wiring" / f"{quote(oven, safe=' ')}.json"


def _proof(text: str, packed: str) -> str:
    return hashlib.sha256("\0".join((_program(), text, packed)).encode()).hexdigest()


@cache
def _program() -> str:
    """Return a name for the program as it reads oven files: another one may read the same text otherwise."""
    folder = Path(kilnctl.__file__).parent / "config"
    looks = [os.stat(folder / name) for name in READS]
    return " ".join([kilnctl.__version__, *(f"{look.st_size}.{look.st_mtime_ns}" for look in looks)])


def _packed(value: Any) -> Any:
    """Return a value as plain data: ["model", keys], ["table", keys], ["list", values] or itself."""
    match value:
        case dict():
            return ["table", {key: _packed(one) for key, one in value.items()}]
        case tuple():
            return ["list", [_packed(one) for one in value]]
        case str() | int() | float() | None:
            return value
    return ["model", {name: _packed(getattr(value, name)) for name in _names(value)}]


def _names(model: "BaseModel") -> list[str]:
    return [*type(model).model_fields, *(name for name in BESIDE_KEYS if hasattr(model, name))]


def _unpacked(value: Any) -> Any:
    match value:
        case ["table", dict() as keys]:
            return {key: _unpacked(one) for key, one in keys.items()}
        case ["list", list() as values]:
            return tuple(_unpacked(one) for one in values)
        case ["model", dict() as keys]:
            return KeptWiring({key: _unpacked(one) for key, one in keys.items()})
        case list():
            raise ValueError("neither model nor table nor list")
    return value
