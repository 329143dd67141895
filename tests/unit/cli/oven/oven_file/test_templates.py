"""What is said of a key is said of the table that it stands in, with nothing to look for elsewhere."""

import re

import pytest

from kilnctl.cli.oven.oven_file.asking.asking import Asker
from kilnctl.cli.oven.oven_file.file_text import written
from kilnctl.cli.oven.oven_file.more_keys import more_keys
from kilnctl.cli.oven.oven_file.templates import WAYS, meaning
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.model.nameplate import BUILDS
from kilnctl.tomlfile import loads

TABLES = (
    ("port", "p"), ("device", "d"), ("signal", "process"), ("signal", "heater_live"), ("output", "heater"),
    ("output", "heater", "back"), ("dead_man",), ("arm",), ("identity",),
)  # fmt: skip
ELSEWHERE = re.compile(r"\b(?:see )?(?:below|above)$|\bsee (?:below|above)\b|1 or 2, and 7 or 8")
WALLS = {
    "fibre": "ceramic fibre",
    "brick": "light firebrick",
    "heavy": "dense",
    "leaky": "wool",
    "fan": "fan",
}


@pytest.mark.parametrize("way", WAYS)
def test_the_kind_of_a_heater_is_no_kind_of_a_device(way) -> None:
    """Above `kind = "duty"` of a heater stood "# kind: `text`", the word of its device."""
    assert meaning(("output", "heater", "kind"), way.topic).startswith("of the heater: ")
    assert "`modbus` (default)" in meaning(("device", "micro", "kind"), way.topic)


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("kind", ["modbus", "text", "line"])
def test_no_question_points_to_what_is_not_beside_it(way, kind) -> None:
    for path in TABLES:
        for key in (*more_keys(path, kind), "words", "kind"):
            assert not ELSEWHERE.search(meaning((*path, key), way.topic)), (path, key)


@pytest.mark.parametrize("build", BUILDS)
def test_a_build_is_told_by_its_walls(build) -> None:
    """It was told by the rise of a first minute, which nobody knows before the first heat."""
    told = next(part for part in meaning(("build",), "").split("), ") if f"`{build}`" in part)
    assert re.search(WALLS[build], told)
    assert " K, " not in meaning(("build",), "")


def asked(**answers: str) -> tuple[dict, list[str]]:
    """Return the file of a maker who knows so much of how his oven heats, and what he was asked."""
    plate = {
        "^dead_man: ": "y", r"y/n\] $": "n", "^name": "bench", "^use": "tempering", "^build": "leaky",
        "^power": "1200 W", "^limit": "260 C", "^isolator": "red switch", "path": "/dev/ttyUSB9",
        "baud": "9600", "address": "1", "switching.kind": "solid-state", "drops_after": "10 s",
        r"dead_man\.write": "10", "register": "0", r"\.low": "-20 C", r"\.high": "400 C",
    }  # fmt: skip
    known = {f"^{key.replace('__', '.')}": said for key, said in answers.items()}
    told = known | plate | known
    heard: list[str] = []

    def ask(question: str) -> str:
        heard.append(question)
        assert len(heard) < 130, heard[-3:]
        return next((said for words, said in told.items() if re.search(words, question)), "")

    return Asker(WAYS[0], ask, heard.append, ports=list).file(), heard


def test_a_maker_is_asked_what_he_may_know_of_how_it_heats() -> None:
    file, heard = asked(elements="muffle", measured__heats_to="200 C", measured__takes="9 min")
    assert (file["elements"], file["measured"]) == ("muffle", {"heats_to": "200 C", "takes": "9 min"})
    assert loads(written(file), Oven, ConfigError, "x").measured.takes_s == 540.0
    assert any("how soon it is hot" in line for line in heard)


@pytest.mark.parametrize("typed", ["?", "unknown", "don't know"])
def test_a_maker_who_does_not_know_what_its_walls_are_of_says_so(typed: str) -> None:
    """It begins like the build with the shortest first pulse, and what that means is said at the place."""
    file, heard = asked(build=typed, elements=typed, measured__heats_to=typed)
    oven = loads(written(file), Oven, ConfigError, "x")
    assert (oven.build, oven.elements, oven.measured) == ("unknown", None, None)
    assert any("whose first pulses are the shortest" in line for line in heard)


def test_a_maker_who_knows_nothing_of_it_writes_nothing_of_it() -> None:
    file, _ = asked()
    assert "elements" not in file
    assert "measured" not in file
    wrong, heard = asked(elements="muffle", measured__heats_to="200 C", measured__takes="-")
    assert "measured" not in wrong
    assert not any("takes [" in line for line in heard)  # no time is offered that nobody has measured
