"""What a file can do is said with what no file can see: where a timer relay hangs."""

import re

import pytest

from kilnctl.cli.oven.oven_file.asking.questions import DEAD_MAN, OWN, TIMER
from kilnctl.config.abilities import heating
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.guide.pages import page
from kilnctl.tomlfile import loads


def said(topic: str, example: int = 0) -> str:
    text = re.findall(r"```toml\n(.*?)```", page(topic).text(), re.S)[example]
    return " ".join(heating(loads(text, Oven, ConfigError, "example")))


def test_a_timer_relay_is_never_behind_the_heaters_own_output() -> None:
    """A one-shot there holds the heat after every off, while the board reads off; only the guide said so."""
    assert "never behind the heater's own output" in said("timer-relay")
    assert "5 s after every off" in said("timer-relay")
    assert "behind the heater's own output" in said("modbus-other-outputs")  # a pulse may be a timer's too
    assert "own output" not in said("modbus-relay")


@pytest.mark.parametrize("question", [DEAD_MAN, TIMER, OWN])
def test_the_questions_name_the_timer_that_is_no_dead_man(question: str) -> None:
    assert "heater's own output" in question


def renewed(held: str, kind: str = "set-point") -> str:
    topic = "set-point-instrument" if kind == "set-point" else "modbus-other-outputs"
    text = re.findall(r"```toml\n(.*?)```", page(topic).text(), re.S)[kind == "duty"]
    text = re.sub(r"\n\[dead_man\].*?(?=\n\[|\Z)", "", text, flags=re.S)
    text = text.replace(f'kind = "{kind}"', f'kind = "{kind}"\nholds = "{held}"')
    return " ".join(heating(loads(text, Oven, ConfigError, "example")))


@pytest.mark.parametrize("kind", ["set-point", "duty"])
def test_a_command_that_must_come_again_is_a_dead_man_up_to_ten_seconds(kind: str) -> None:
    assert "It can be watched and heated" in renewed("10 s", kind)
    assert f"a {'set-point' if kind == 'set-point' else 'power'} which is not written again" in renewed(
        "8 s", kind
    )


def test_one_that_holds_for_longer_is_refused_and_told_which_key_to_change() -> None:
    """20 s are fixed in some panels: two ways are left, and the file's own key is named."""
    refused = renewed("20 s")
    assert "NOT heated: heat that goes on for 20 s by itself is too long" in refused
    assert "output.heater.holds" in refused
    assert "timer relay" in refused
