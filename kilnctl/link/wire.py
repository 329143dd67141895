"""Frames on the wire: one JSON object per line.

From the controller come `{"hello": ...}` once, then `{"snapshot": ...}` and `{"answer": ..., "id": n}`; to it
goes `{"command": ..., "id": n}`. Reading is strict about types and missing fields, and ignores fields it does
not know, so that an older screen can follow a newer controller. Numbers are finite or null.
"""

import dataclasses
import json
import math
import types
import typing
from collections.abc import Hashable
from functools import cache
from typing import Any, Literal, TypeVar, Union

from kilnctl.errors import LinkError, cut_short
from kilnctl.link.snapshot import Answer, Command, Snapshot

LONGEST_REFUSAL = 200
T = TypeVar("T")
Frame = dict[str, Any]


@dataclasses.dataclass(frozen=True, slots=True)
class Hello:
    """The first line a client gets: the controller's version and the ovens that have been published."""

    version: str
    ovens: tuple[str, ...] = ()


def fields(value: Any) -> dict[str, Any]:
    """Return the fields of a frozen dataclass by name, one level deep. Raises TypeError for anything else."""
    if not dataclasses.is_dataclass(value) or isinstance(value, type):
        raise TypeError(f"{type(value).__name__} cannot be sent")
    return {name: getattr(value, name) for name in _names(type(value))}


@cache
def _names(kind: type) -> tuple[str, ...]:
    return tuple(field.name for field in dataclasses.fields(kind))


def _finite(value: Any) -> Any:
    """Return the same data with None for every NaN and infinity, which JSON does not have."""
    match value:
        case float():
            return value if math.isfinite(value) else None
        case list() | tuple():
            return [_finite(item) for item in value]
        case dict():
            return {key: _finite(item) for key, item in value.items()}
        case None | str() | int():
            return value
        case _:
            return _finite(fields(value))


def line(frame: Frame) -> bytes:
    """Return a frame as one line of JSON. Raises TypeError for data that no screen could understand."""
    try:
        text = json.dumps(frame, default=fields, allow_nan=False, separators=(",", ":"))
    except ValueError:  # a NaN somewhere: rare, so the walk through all data is paid only then
        text = json.dumps(_finite(frame), separators=(",", ":"))
    return text.encode() + b"\n"


def frame_of(raw: bytes) -> Frame:
    """Return the frame in a line. Raises LinkError when it is no JSON object."""
    try:
        frame = json.loads(raw)
    except (ValueError, RecursionError):
        raise LinkError("a damaged line came over the controller's socket") from None
    if not isinstance(frame, dict):
        raise LinkError("a line without a frame came over the controller's socket")
    return frame


def snapshot_of(data: object) -> Snapshot:
    """Return the snapshot in a frame. Raises LinkError naming the field that cannot be read."""
    return read(Snapshot, data, "snapshot")


def command_of(data: object) -> Command:
    """Return the command in a frame. Raises LinkError naming the field that cannot be read."""
    return read(Command, data, "command")


def answer_of(data: object) -> Answer:
    """Return the answer in a frame. Raises LinkError naming the field that cannot be read."""
    return read(Answer, data, "answer")


def refusal_of(frame: Frame) -> str:
    """Return why a controller turns a screen away, as one line."""
    return cut_short(str(frame["refused"]), LONGEST_REFUSAL)


def read(kind: type[T], data: object, where: str) -> T:
    """Build a frozen dataclass from plain JSON data. Raises LinkError naming the field."""
    if not isinstance(data, dict):
        raise LinkError(f"{where}: not an object")
    values = {
        name: _value(hint, data[name], f"{where}.{name}")
        for name, hint in _hints(typing.cast(Hashable, kind))
        if name in data
    }
    try:
        return kind(**values)
    except TypeError as e:
        raise LinkError(f"{where}: {str(e).partition('() ')[2] or e}") from None


@cache
def _hints(kind: Any) -> tuple[tuple[str, Any], ...]:
    return tuple(typing.get_type_hints(kind).items())


def _value(hint: Any, data: Any, where: str) -> Any:
    if hint is float and type(data) in (int, float):
        return float(data)
    if hint in (int, str, bool) and type(data) is hint:
        return data
    if hint is Any or (isinstance(hint, type) and type(data) is hint):
        return data  # plain JSON holds no such type: whoever calls has read this field already
    if dataclasses.is_dataclass(hint):
        return read(typing.cast(type, hint), data, where)
    return _generic(hint, data, where)


def _generic(hint: Any, data: Any, where: str) -> Any:
    origin, args = typing.get_origin(hint), typing.get_args(hint)
    if origin in (Union, types.UnionType):
        inner = next(arg for arg in args if arg is not type(None))
        return None if data is None else _value(inner, data, where)
    if origin is Literal and data in args:
        return data
    if origin is tuple and isinstance(data, list):
        return _tuple(args, data, where)
    if origin is dict and isinstance(data, dict):
        return {key: _value(args[1], item, f"{where}.{key}") for key, item in data.items()}
    raise LinkError(f"{where}: cannot read {repr(data)[:80]}")


def _tuple(args: tuple[Any, ...], data: list[Any], where: str) -> tuple[Any, ...]:
    if args[-1] is ...:
        return tuple(_value(args[0], item, where) for item in data)
    if len(args) != len(data):
        raise LinkError(f"{where}: {len(data)} values instead of {len(args)}")
    return tuple(_value(arg, item, where) for arg, item in zip(args, data, strict=True))
