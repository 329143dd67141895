"""A panel that stands by when its set-point is not renewed: the first file is the one that proves it.

A newcomer with such a panel wrote its mode as an arm, was told that the file was complete, and found "still
on after 10 s of silence" at the oven. His sheet: time-out 5 to 600 s in a register (20 as delivered), mode 1
run, 0 stand-by.
"""

import re

import pytest

from kilnctl.cli.oven.oven_file.asking.asking import Asker
from kilnctl.cli.oven.oven_file.file_text import written
from kilnctl.cli.oven.oven_file.new import ask_way
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.tomlfile import loads

SAID = {
    "^kind": "6", "^name": "panel", "^use": "hardening", "^build": "fibre", "^power": "3000 W",
    "^limit": "1200 C", "isolator": "Q1", "^elements": "", "heats_to": "", "switching.kind": "solid-state",
    r"\.path": "/dev/ttyUSB0", r"\.baud": "38400", r"\.address": "5", r"process\.table": "input",
    r"process\.register": "0", r"process\.low": "-20 C", r"process\.high": "1300 C",
    r"process\.unit": "C", r"(process|heater)\.format": "float32", "word_order": "low first",
    r"heater\.table": "holding", r"heater\.register": "0x400", r"heater\.park": "0 C",
    r"heater\.highest": "1100 C", "link_loss": "drops", "contactor.*y/n": "n", "lamp.*y/n": "n",
    "heater_live.*y/n": "n", "identity.*y/n": "n", r"heater\.holds: Must": "y",
    r"heater\.back: Does": "y", r"dead_man\.table": "holding", r"dead_man\.register": "0x410",
    r"dead_man\.write": "1", r"arm\.table": "holding", r"arm\.register": "0x411", r"arm\.write": "10",
    r"arm\.stored": "true", "^arm: Anything": "n",
}  # fmt: skip


# A text panel of invented make: RUN or STOP in its answer to ST; "stale set-point" after 4 s: it stops.
TEXT = {
    "^kind": "7", "park: Is it": "y",
    r"words\.mode_command": "", r"words\.mode:": "STOP, RUN", r"words\.": "",
    **{key: SAID[key] for key in ("^name", "^use", "^build", "^power", "^limit", "isolator", "^elements",
       "heats_to", "switching.kind", r"\.path",
       r"\.baud", r"process\.low", r"process\.high", r"process\.unit",
       r"heater\.park", r"heater\.highest", "contactor.*y/n", "lamp.*y/n", r"heater\.holds: Must",
       r"heater\.back: Does", "^arm: Anything")},
    "link_loss": "drops", r"holds: $": "4 s", r"line_end": "CR LF",
    r"ask\.reply.*": "PV {process} SP {heater} ST {mode}",
    r"tell\.heater\.send": "SP {value}", r"tell\.heater\.reply": "OK", r"dead_man\.field": "mode",
    r"tell\.mode\.send": "MODE {value}", r"tell\.mode\.reply": "OK", r"dead_man\.write": "1",
    "cold_junction.*y/n": "n", "^arm: Must": "n",
}  # fmt: skip


def file_of(
    base: dict[str, object] = SAID, say: list[str] | None = None, **said: str
) -> tuple[Oven, list[str]]:
    told, asked = said | base, []

    def ask(question: str) -> str:
        asked.append(question)
        assert len(asked) < 120, asked[-5:]
        found = next((one for words, one in told.items() if re.search(words, question)), "")
        found = next(found, "") if not isinstance(found, str) else found
        return found if found or "y/n" not in question else "n"

    tell = (say if say is not None else []).append
    text = written(Asker(ask_way(ask, tell), ask, tell).file())
    return loads(text, Oven, ConfigError, "panel"), asked


@pytest.mark.parametrize(
    ("said", "arms"),
    [
        ({r"holds: $": "10 s"}, []),
        ({r"holds: $": "20 s", "arm: Has that time": "y"}, [10]),
    ],
)
def test_its_mode_is_dead_man_and_read_back_and_a_long_time_is_written_shorter(said, arms) -> None:
    oven, asked = file_of(**said)
    heater, dead_man = oven.output.heater, oven.dead_man
    assert dead_man is not None
    assert heater.holds_s == dead_man.drops_after_s == 10.0
    assert heater.highest_c == 1100.0
    assert dead_man.zero_drops
    assert dead_man.register_no == heater.back.register_no == 0x410
    assert oven.started_by_feeding
    assert [arm.write for arm in oven.arm] == arms
    assert not any("RUN or REMOTE" in question for question in asked)


@pytest.mark.parametrize("words", ["", "HALT, GO"], ids=["the same words", "other words in the command"])
def test_a_text_panel_that_stands_by_is_asked_for_the_answer_that_tells_its_mode(words: str) -> None:
    asks = {r"ask\.send": iter(["?", ""])}
    other = {r"words\.mode_command": words}
    oven, _ = file_of(TEXT | asks | other)
    heater, dead_man = oven.output.heater, oven.dead_man
    assert dead_man is not None
    assert (heater.kind, heater.holds_s, dead_man.drops_after_s, dead_man.zero_drops) == (
        "set-point", 4.0, 4.0, True,
    )  # fmt: skip
    assert heater.back.field == "mode"
    assert dead_man.field == ("mode_command" if words else "mode")
    assert oven.started_by_feeding


def test_its_line_must_be_able_to_say_stop_and_its_mode_must_be_told() -> None:
    """A line without {value} is the same for 0: what should stop it would start it."""
    asks = {r"ask\.send": iter(["?", ""]), r"dead_man\.field": iter(["alive", "mode"])}
    lines = {r"tell\.mode\.send": iter(["MODE RUN", "MODE {value}"])}
    heard: list[str] = []
    oven, _ = file_of(TEXT | asks | lines, say=heard)
    assert oven.device["micro"].tell["mode"].send == "MODE {value}"
    assert any("same line" in line for line in heard)
    assert any("the answers have process, heater, mode" in line for line in heard)


ARM_OF_MODE = SAID | {
    r"heater\.holds: Must": "n", "^dead_man: Is there": "n", "^arm: Must": "y", "^arm: Anything": "n",
    r"arm\.register": "0x410", r"arm\.write": "1", r"arm\.stored": "", r"dead_man\.drops_after": "10 s",
}  # fmt: skip


def test_holds_that_was_named_at_the_heater_leads_to_the_same_questions() -> None:
    """`holds` typed at "anything else": nobody asked for stand-by, and the mode became an arm."""
    oven, asked = file_of(**{"heater, anything else": iter(["holds", ""]), r"holds: $": "10 s"})
    assert oven.started_by_feeding
    assert oven.output.heater.holds_s == oven.dead_man.drops_after_s == 10.0
    assert not any("heater.holds: Must" in question for question in asked)


def test_an_arm_that_is_the_mode_becomes_the_dead_man() -> None:
    """Whoever took RUN for something that is written once had no stand-by in his file, and a heat to come."""
    oven, _ = file_of(ARM_OF_MODE, **{"dead_man: When the line": "y"})
    assert oven.started_by_feeding
    assert not oven.arm
    assert (oven.dead_man.drops_after_s, oven.output.heater.link_loss) == (10.0, "drops")


def test_an_arm_at_the_place_that_was_named_as_back_is_the_mode_without_a_question() -> None:
    """It was refused ("leave the arm out"), and without it nothing of the file ever wrote RUN."""
    back = {
        "heater, anything else": iter(["back", ""]),
        r"back\.register": "0x410",
        r"back\.table": "holding",
    }
    oven, _ = file_of(ARM_OF_MODE, **back)
    assert oven.started_by_feeding
    assert not oven.arm


def test_an_arm_that_is_no_mode_stays_one() -> None:
    oven, _ = file_of(ARM_OF_MODE, **{"dead_man: When the line": "n"})
    assert oven.dead_man is None
    assert [arm.register_no for arm in oven.arm] == [0x410]
