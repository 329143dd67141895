"""A device of another kind beside those of the way: whatever pair stands in one file, the file loads."""

import re
from itertools import permutations

import pytest

from kilnctl.cli.oven.oven_file.asking.asking import Asker
from kilnctl.cli.oven.oven_file.file_text import written
from kilnctl.cli.oven.oven_file.other_kinds import (
    EXAMPLES,
    ask_kind,
    device_like,
    free_port,
    kind_of,
    place_at,
    port_like,
)
from kilnctl.cli.oven.oven_file.templates import WAYS, template
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.tomlfile import loads

PROCESS, HEATER = ("signal", "process"), ("output", "heater")
MOVED = [(*pair, path) for pair in permutations(EXAMPLES, 2) for path in (PROCESS, HEATER)]


# A line board's heater is a duty, which no other board of the examples takes: there the way is the other one.
@pytest.mark.parametrize(
    ("kind", "other", "path"), [one for one in MOVED if (one[0], one[2]) != ("line", HEATER)]
)
def test_a_place_can_move_to_a_device_of_another_kind(kind: str, other: str, path: tuple[str, str]) -> None:
    file = template(EXAMPLES[kind])
    file["port"]["more"] = {**port_like(other), "path": "/dev/ttyUSB7"}
    file["device"]["more"] = device_like(other, "more")
    assert kind_of(file["device"]["more"]) == other
    place = place_at(path, file[path[0]][path[1]], "more", other)
    file[path[0]][path[1]] = place
    oven = loads(written(file), Oven, ConfigError, "oven")
    moved = dict(oven.wired())[".".join(path)]
    assert moved.device == "more"
    assert bool(moved.field) is (other != "modbus")


def test_only_modbus_devices_share_a_port() -> None:
    relays, reader = {"port": "a"}, {"port": "b", "kind": "text"}
    assert free_port(["a", "b"], [relays, reader], "modbus") == "a"
    assert free_port(["a", "b"], [relays, reader], "text") == ""
    assert free_port(["a", "b", "c"], [relays, reader], "line") == "c"


def test_a_kind_that_there_is_not_is_asked_again() -> None:
    said: list[str] = []
    typed = iter(["usb", ""])
    assert ask_kind("reader", lambda question: next(typed), said.append) == "modbus"
    assert said == ["type one of modbus, text, line"]


def test_function_16_is_nobodys_default() -> None:
    """Enter took it from the example of timed outputs, and from there for the dead-man: a board of 05 and 06
    alone refused both."""
    asked: list[str] = []

    def ask(question: str) -> str:
        asked.append(question)
        assert len(asked) < 130, asked[-3:]
        plate = {
            "^dead_man: ": "y", r"y/n\] $": "n", "^name": "bench", "^build": "leaky", "^power": "1 kW",
            "^limit": "260 C", "^isolator": "red", "path": "/dev/ttyUSB9", "baud": "9600", "address": "1",
            "_man.register": "9", "process.register": "0", r"\.low": "-20 C", r"\.high": "400 C",
            "holds": "3 s", r"heater\.on": "30", r"\.write": "1",
            "drops_after": "5 s", r"heater\.register": "20",
        }  # fmt: skip
        return next((said for words, said in plate.items() if re.search(words, question)), "")

    file = Asker(WAYS[1], ask, lambda _: None, ports=list).file()
    assert any("output.heater.multiple [5 and 6]" in one for one in asked)
    assert not file["output"]["heater"].get("multiple")
    assert not file["dead_man"].get("multiple")
