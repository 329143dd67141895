"""The text of a new oven file: every key that it may hold is told, at the place and in the question."""

import re
import tomllib

import pytest

from kilnctl.cli.oven.oven_file.file_text import written
from kilnctl.cli.oven.oven_file.more_keys import model_of
from kilnctl.cli.oven.oven_file.templates import WAYS, meaning, template
from kilnctl.config.device_keys import Ask, Tell
from kilnctl.config.oven import Measured, Oven, Switching, Zone

TABLES = {"port", "device", "signal", "output", "identity", "dead_man", "arm"}  # each key of theirs is told
PLACES = (
    ("port", "usb"), ("device", "board"), ("signal", "process"), ("signal", "second"),
    ("signal", "door_open"), ("signal", "current_a"), ("output", "heater"), ("output", "lamp"),
    ("dead_man",), ("arm",), ("identity",), ("signal", "process", "fault"),
    ("signal", "process", "exponent"), ("output", "heater", "back"),
)  # fmt: skip
PLAIN = (
    ((), Oven), (("switching",), Switching), (("measured",), Measured), (("zone",), Zone),
    (("device", "m", "ask"), Ask), (("device", "m", "tell", "heater"), Tell),
)  # fmt: skip
EVERY = [
    *((path, model) for path, model in PLAIN),
    *((path, model_of(path, kind)) for path in PLACES for kind in ("modbus", "text", "line")),
]


@pytest.mark.parametrize("way", WAYS, ids=lambda way: f"{way.topic}-{way.example}")
def test_every_key_that_a_file_may_hold_is_told(way) -> None:
    """A function 16 of a dead-man, a `back` that is inverted and a board's name were told nowhere."""
    keys = {
        (*path, field.alias or name) for path, model in EVERY for name, field in model.model_fields.items()
    }
    assert len(keys) > 150
    silent = {key for key in keys if not meaning(key, way.topic) and key not in {(one,) for one in TABLES}}
    assert silent == set()


@pytest.mark.parametrize("way", WAYS, ids=lambda way: f"{way.topic}-{way.example}")
def test_no_key_of_a_second_device_is_told_by_naming_a_page(way) -> None:
    for name in model_of(("device", "m"), "text").model_fields:
        assert "see `kilnctl guide" not in meaning(("device", "m", name), way.topic), name


def keys_below(value: object, chosen: bool = False) -> set[str]:
    """Return the keys inside tables; `chosen`: their own names are the maker's."""
    if isinstance(value, list):
        return set().union(*(keys_below(one) for one in value))
    if not isinstance(value, dict):
        return set()
    inside = (keys_below(one, chosen=key in ("words", "tell")) for key, one in value.items())
    return (set() if chosen else set(value)).union(*inside)


@pytest.mark.parametrize("way", WAYS, ids=lambda way: f"{way.topic}-{way.example}")
def test_every_key_that_is_written_has_its_words_above_it(way) -> None:
    """Those inside a line had none: `send`, `reply`, the register of a `back`, the kind of switching."""
    data = template(way)
    text = written(data, lambda key: meaning(key, way.topic))
    assert tomllib.loads(text) == data
    told = set(re.findall(r"^# ([a-z_]+): .", text, re.M))
    groups = {key: one for key, one in data.items() if key in TABLES}
    inside = set().union(*(keys_below(group) for group in groups.values()))
    names = set(data["port"]) | set(data["device"])
    assert (inside | (set(data) - TABLES) | keys_below(data["switching"])) - names <= told


def test_words_of_a_command_are_told_with_the_words() -> None:
    words = {"heater": ["IS OFF", "IS ON"], "heater_command": ["OFF", "ON"]}
    text = written({"device": {"m": {"kind": "text", "words": words}}}, lambda key: meaning(key, "network"))
    above = text.partition("words = ")[0]
    assert "`_command`" in above
    assert "# heater:" not in text  # a name of the maker's, no key
