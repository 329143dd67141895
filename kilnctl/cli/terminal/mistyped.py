"""What the command line library found wrong in what was typed, in words of our own."""

from types import NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin

KINDS = {int: "whole number", float: "number"}


def in_our_words(error: Any) -> str:
    """Return one line that names what is wrong and nothing else.

    Every error of the library lists what it had not used yet, right or wrong: its kind alone says what is.
    """
    kind, argument = type(error).__name__, getattr(error, "argument", None)
    if kind == "UnusedCliTokensError":
        left = " ".join(map(repr, error.unused_tokens))
        return f"nothing here takes {left}; leave it out, or write the option before it"
    if kind == "RepeatArgumentError":
        return f"{error.token.keyword or error.token.value} is given twice; give it once"
    if argument is not None:
        asked = " ".join(error.command_chain or ())
        if kind == "MissingArgumentError":
            return _missing(asked, argument.name, error.root_input_tokens or ())
        if kind == "CoercionError":
            return _unreadable(argument.name, _typed(error), error.target_type)
    return " ".join(str(error).split())


def _missing(asked: str, name: str, typed: Any) -> str:
    if name.startswith("-") and name in typed:
        return f"{asked}: {name} needs a value after it"
    return f"{asked} needs {name}"


def _typed(error: Any) -> str:
    tokens = [error.token] if error.token is not None else error.argument.tokens
    return " ".join(token.value for token in tokens)


def _unreadable(name: str, typed: str, kind: Any) -> str:
    if get_origin(kind) in (Union, UnionType):
        kind = next((one for one in get_args(kind) if one is not NoneType), kind)
    if get_origin(kind) is Literal:
        return f'{name}: "{typed}" is not one of {", ".join(map(str, get_args(kind)))}'
    if kind is bool:
        return f"{name} takes no value: it is there or not"
    return f'{name}: "{typed}" is not a {KINDS.get(kind, "value that it takes")}'
