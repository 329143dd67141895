"""A text board's language by asking: an invented board whose words and lines are none of the examples'."""

import builtins
from pathlib import Path

import pytest

from kilnctl.cli.main import run
from kilnctl.cli.oven.oven_file.asking.text_language import ask_requests, ask_word_table, fields
from kilnctl.config.device_keys import TextDevice
from kilnctl.config.oven import load_oven


def answers(*typed: str):
    left = iter(typed)
    return lambda _question: next(left)


def test_a_reply_without_a_value_is_asked_again_and_so_is_an_empty_list(
    capsys: pytest.CaptureFixture[str],
) -> None:
    asked = ask_requests("device.x", answers("", "STAT", "fine", "{a} {a}", r"A {a}\nB {b}", ""), print)
    assert asked == [{"send": "STAT", "reply": "A {a}\nB {b}"}]
    assert fields(asked) == ["a", "b"]
    said = capsys.readouterr().out
    assert "no {name} stands in it" in said
    assert "{a} stands twice" in said


def test_an_end_of_a_line_as_a_sheet_prints_it_is_left_to_its_own_key() -> None:
    """READ\\r\\n was sent as a line with a backslash in it, and its answer never matched."""
    said: list[str] = []
    typed = answers(r"READ\r\n", r"T={a}\r\nH={b}\r\n", "NEXT<CR>", r"\n{c}\n", "")
    asked = ask_requests("device.x", typed, said.append)
    assert asked == [{"send": "READ", "reply": "T={a}\nH={b}"}, {"send": "NEXT", "reply": "\n{c}\n"}]


def test_a_word_of_two_lines_is_asked_again() -> None:
    said: list[str] = []
    typed = answers(r"OFF\nEND, ON\nEND", "OFF, ON")
    assert ask_word_table("device.x", ["heat"], typed, said.append) == {"heat": ["OFF", "ON"]}
    assert "one line" in said[-1]


def test_words_are_typed_plainly_and_one_word_is_not_enough() -> None:
    typed = answers("", "OFF", "OFF OFF", '["SHUT", "AJAR"]', "IDLE FIRE")
    assert ask_word_table("device.x", ["t", "door", "heat"], typed, lambda _: None) == {
        "door": ["SHUT", "AJAR"], "heat": ["IDLE", "FIRE"],
    }  # fmt: skip


BOARD = {
    "kind": "8", "name": "hearth", "build": "leaky", "port.usb.baud": "9600", "port.usb.parity": "none",
    "power": "1000 W", "limit": "240 C", "isolator": "by the door",
    "port.usb.path": "/dev/ttyACM0", "device.micro.line_end": "CR LF", "device.micro.open_words": "BREAK",
    "device.micro.banner": "HEARTH", "device.micro.who": "NAME",
    "device.micro.ask.reply": r"OVEN {process} DOOR {door}\nSSR {heater} K1 {k1}\nOK",
    "device.micro.words.door": "CLOSED AJAR", "device.micro.words.heater": "IDLE, FIRE",
    "device.micro.words.k1": "OPEN, CLOSE", "signal.process.low": "-20 C", "signal.process.high": "400 C",
    "signal.door_open": "y", "device.micro.tell.heater.send": "SSR {value}",
    "device.micro.tell.heater.reply": "OK SSR {value}", "output.lamp": "n", "output.contactor.field": "k1",
    "device.micro.tell.k1.send": "K1 {value}", "device.micro.tell.k1.reply": "OK K1 {value}",
    "dead_man": "y", "output.heater.holds": "n", "arm": "n", "output.heater.park": "n",
    "device.micro.tell.alive.send": "STAY", "device.micro.tell.alive.reply": "OK",
    "dead_man.drops_after": "6 s",
}  # fmt: skip


def test_a_board_with_a_language_and_a_contactor_of_its_own(
    own_home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """And somebody who mistypes the power, sees it at the next question and goes back."""
    told = {"power": iter(["10 W", "1000 W"]), "limit": iter(["<"]), "output": iter(["contactor"])}
    told["device.micro.ask.send"] = iter(["STAT"])

    def person(question: str) -> str:
        key = question.partition(" [")[0].rstrip(": ").partition(":")[0]
        return next(told[key], BOARD.get(key, "")) if key in told else BOARD.get(key, "")

    monkeypatch.setattr(builtins, "input", person)
    assert run(["oven", "new"]) == 0, capsys.readouterr()
    oven = load_oven(own_home / "ovens" / "hearth.toml")
    micro = oven.device["micro"]
    assert isinstance(micro, TextDevice)
    assert oven.power_w == 1000.0
    assert micro.banner == "HEARTH"
    assert micro.words == {"door": ("CLOSED", "AJAR"), "heater": ("IDLE", "FIRE"), "k1": ("OPEN", "CLOSE")}
    assert set(micro.tell) == {"heater", "k1", "alive"}
    assert oven.output.contactor is not None
    assert oven.dead_man is not None
    assert oven.dead_man.write == 1
