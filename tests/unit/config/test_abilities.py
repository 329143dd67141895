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


PANEL = """
name = "panel"
use = "tempering"
build = "leaky"
power = "1000 W"
limit = "200 C"
isolator = "red switch"
switching = { kind = "solid-state" }
port.p = { path = "/dev/ttyUSB0" }
device.panel = { port = "p", address = 1 }
[signal.process]
device = "panel"
table = "input"
register = 0
unit = "C"
low = "-20 C"
high = "400 C"
[output.heater]
kind = "set-point"
device = "panel"
table = "holding"
register = 0
unit = "C"
park = "0 C"
link_loss = "drops"
# MORE
"""
BACK = 'back = { device = "panel", table = "holding", register = 1 }\n'
ARM = '[[arm]]\ndevice = "panel"\ntable = "holding"\nregister = 1\nwrite = 1\n'
FED = '[dead_man]\ndevice = "panel"\ntable = "holding"\nregister = 1\nwrite = 1\ndrops_after = "5 s"\n'


def of_a_panel(more: str) -> list[str]:
    return list(heating(loads(PANEL.replace("# MORE", more), Oven, ConfigError, "panel")))


@pytest.mark.parametrize("more", ["", 'holds = "5 s"', ARM], ids=["bare", "held", "armed"])
def test_of_a_panel_whose_mode_nothing_shows_it_is_asked_whether_it_has_one(more: str) -> None:
    """Such a file was "can be watched and heated"; nothing ever wrote RUN, nothing read stand-by."""
    assert any("stand-by" in line and "dead_man" in line for line in of_a_panel(more))


def test_a_mode_that_is_read_and_never_written_is_not_called_heated() -> None:
    said = of_a_panel(BACK)
    assert "watched and heated" not in said[0]
    assert "nothing of this file writes" in " ".join(said)


def test_a_panel_that_its_feeding_starts_has_nothing_to_be_asked() -> None:
    assert len(of_a_panel(f"{BACK}{FED}zero_drops = true\n")) == 1


def test_one_place_for_back_and_dead_man_is_cured_by_zero_drops() -> None:
    """It said "leave one out", of what is right with one key more."""
    with pytest.raises(ConfigError, match=r"share holding 1 of panel.*zero_drops = true"):
        of_a_panel(BACK + FED)
    with pytest.raises(ConfigError, match=r"share holding 1 of panel.*dead_man.*zero_drops"):
        of_a_panel(BACK + ARM)


def pulsed(arms: bool) -> str:
    text = re.findall(r"```toml\n(.*?)```", page("modbus-other-outputs").text(), re.S)[0]
    device = re.search(r'\[output\.heater\]\ndevice = "(\w+)"', text)[1]
    arm = f'\n[[arm]]\ndevice = "{device}"\ntable = "holding"\nregister = 256\nwrite = 80\n'
    return " ".join(heating(loads(text + (arm if arms else ""), Oven, ConfigError, "example")))


def test_a_boards_own_watchdog_that_any_writing_feeds_is_no_pulse_and_no_timer_relay() -> None:
    """ "each pulse ends by itself after 8 s" and "No timer relay" were told of a bench that had neither."""
    assert "each pulse" not in pulsed(arms=True)
    assert "timer relay" not in pulsed(arms=True)
    assert "after its command was last written" in pulsed(arms=True)
    assert "No timer relay behind the heater's own output" in pulsed(arms=False)  # it may be one's
