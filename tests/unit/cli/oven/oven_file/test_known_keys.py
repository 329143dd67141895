"""A key that an oven file cannot have is answered with what it has, and what is nearest."""

import tomllib
from pathlib import Path

import pytest

from kilnctl.cli.oven.oven_file.known_keys import nearest, no_such_key
from kilnctl.config import home

DATA = tomllib.loads(
    Path(home.bundled("ovens"), "tempering-oven.toml").read_text(encoding="utf-8")
    + '\n[[arm]]\ndevice = "board"\ntable = "holding"\nregister = 9\nwrite = 1\n'
)


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("outptu.lamp.register", "output.lamp.register"),  # letters in the wrong order
        ("lamp", "output.lamp"),  # only its end
        ("park", "output.heater.park"),  # one that the file has not and may have
        ("signal.door", "signal.door_open"),
        ("signal.smokes", "signal.smoke"),
        ("measurd", "measured"),
        ("dead_man.storde", "dead_man.stored"),
        ("device.xx.address", "device.board.address"),
        ("arm.2.write", "arm.1.write"),
    ],
)
def test_the_nearest_comes_first(typed: str, first: str) -> None:
    assert nearest(DATA, typed)[0] == first


def test_what_is_like_nothing_is_answered_with_what_there_is() -> None:
    said = no_such_key(DATA, ("qqq",))
    assert said.startswith("there is no qqq. The file has name, ")
    assert said.endswith("and the tables switching, port, device, signal, output, dead_man, arm")


def test_a_table_that_was_found_says_what_it_has() -> None:
    assert "output.lamp has device, table, register" in no_such_key(DATA, ("output", "lamp", "registr"))
    assert "arm has 1" in no_such_key(DATA, ("arm", 4, "write"))
