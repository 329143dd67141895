"""What the command line library found wrong in what was typed, in words of our own."""

import difflib
from types import NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin

from kilnctl.cli.terminal.options import OPTION

KINDS = {int: "whole number", float: "number"}
NEAR_A_NAME = 0.76
# What makers call a question of `figure`, without the s of many.
MEANT = {
    "skin": "decarb decarburisation decarburization scale-los scaling oxidation bare",
    "growth": "expansion expand dimension shrink shrinkage size distortion grow",
    "bath": "oil quenchant water brine tank litre flash",
    "power": "cost price electricity energy amp current ohm resistance element heater kwh watt",
    "couple": "millivolt mv voltage emf thermocouple extension copper",
    "quenched": "m martensite retained austenite cold cryo subzero dissolved",
    "transfer": "second fast move air-time",
    "through": "heating heat-through core thicknes lag",
    "soak": "austenitise austenitize harden hardening hold",
    "cooling": "cool normalise normalize anneal annealing",
    "temper": "tempering hrc spring",
    "scale": "convert conversion hv hb brinell vicker rockwell tensile strength mpa",
    "equal": "equivalent shorter longer instead",
    "uncertainty": "tolerance accuracy error pt100 drift",
    "survey": "uniformity spread",
    "boiling": "altitude height boil",
    "rate": "ramp speed slope",
    "weight": "mas kilogram density bar",
    "gas": "dry-ice nitrogen co2 oxygen argon",
    "pyrometer": "emissivity infrared ir",
    "oven": "furnace heatup heat-up",
}


def in_our_words(error: Any) -> str:
    """Return one line that names what is wrong and nothing else.

    Every error of the library lists what it had not used yet, right or wrong: its kind alone says what is.
    """
    kind, argument = type(error).__name__, getattr(error, "argument", None)
    if kind == "UnusedCliTokensError":
        if foreign := _foreign_option(error):
            return foreign
        left = " ".join(map(repr, error.unused_tokens))
        if tuple(error.command_chain or ()) == ("runs",) and left.strip("'").isdecimal():
            number = left.strip("'")
            return f"runs lists them all; `kilnctl export {number} --out run{number}.html` shows run {number}"
        steel = "; a grade is named with --steel" if "--steel" in _own_options(error) else ""
        return f"nothing here takes {left}; leave it out, or write the option before it{steel}"
    if kind == "RepeatArgumentError":
        return f"{error.token.keyword or error.token.value} is given twice; give it once"
    if argument is not None:
        asked = " ".join(error.command_chain or ())
        if kind == "MissingArgumentError":
            return _missing(asked, argument.name, error.root_input_tokens or ())
        if kind == "CoercionError":
            return _no_value(error) or _unreadable(argument.name, _typed(error), error.target_type)
    tokens = [str(token) for token in error.root_input_tokens or ()]
    if kind == "UnknownCommandError" and tokens[:1] == ["figure"] and len(tokens) > 1:
        return _no_figure(tokens[1])
    return " ".join(str(error).split())


def _no_figure(word: str) -> str:
    """Return which question of the bench a maker's word means, else how to find it."""
    from kilnctl.cli.figure import figure

    names = [name for name in figure if not name.startswith("-")]
    meant = [name for name, words in MEANT.items() if word.casefold().rstrip("s") in words.split()]
    near = meant or difflib.get_close_matches(word.casefold(), names, n=1, cutoff=NEAR_A_NAME)
    if near:
        return f'figure has no "{word}"; you may want `kilnctl figure {near[0]} --help`'
    return f'figure has no "{word}": `kilnctl figure` lists the questions, `kilnctl guide WORDS` finds one'


def _foreign_option(error: Any) -> str:
    """Return what to say of an option that the command has not, empty where all are its own.

    The library blames the word after it where an argument may begin with a hyphen.
    """
    own = _own_options(error)
    typed = (token.partition("=")[0] for token in error.root_input_tokens or () if OPTION.match(token))
    return next((_not_known(word, own) for word in typed if word not in own), "")


def _own_options(error: Any) -> set[str]:
    return {name for argument in error.app.assemble_argument_collection() for name in argument.names}


def _not_known(word: str, own: set[str]) -> str:
    near = difflib.get_close_matches(word, sorted(own), n=1)
    return f"Unknown option: {word}." + (f" Did you mean {near[0]}?" if near else "")


def _no_value(error: Any) -> str:
    """Return what to say where an option stands in the place of a value, empty where none does."""
    token = error.token
    if token is None or not OPTION.match(token.value):
        return ""
    return f"{token.keyword} needs a value after it" if token.keyword else _not_known(token.value, set())


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
