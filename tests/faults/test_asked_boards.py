"""Boards that `oven new` could not tell once: its answers, then the bus check over such a board's real bytes.

Nothing of `simulator/` is behind the ports.
"""

import re
from collections.abc import Callable

import pytest
from faults.planted.bench import Bench, TimerBench
from faults.planted.serial_line import TwoStopBits
from faults.planted.tables import FloatAlone
from faults.planted.text_board import OtherWords
from faults.test_planted_mistakes import walked
from foreign.asking import MOST_ASKED

from kilnctl.cli.oven.oven_file.asking.asking import Asker
from kilnctl.cli.oven.oven_file.file_text import written
from kilnctl.cli.oven.oven_file.templates import WAYS
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.tomlfile import loads

pytestmark = [pytest.mark.real_bytes, pytest.mark.slow]
PLATE = {
    "^name": "bench", "^build": "leaky", r"\.baud:": "9600", r"\.line_end:": "LF",
    "^power": "1200 W", "^limit": "260 C", "^isolator": "red switch",
    r"process\.low": "-20 C", r"process\.high": "400 C", r"drops_after": "5 s", r"\.unit": "C",
    r"switching\.kind": "solid-state",
}  # fmt: skip
OUTPUTS = {
    r"heater\.register": "0", r"contactor.*y/n": "y", r"contactor\.register": "1",
    "identity.*y/n": "y", r"identity\.register": "50", "expect": "41",
}  # fmt: skip


class Apart(FloatAlone, TwoStopBits):
    """The sensor sends a float, low word first, and every board wants two stop bits."""


def in_turn(*answers: str) -> Callable[[], str]:
    return iter(answers).__next__


def text(number: int, answers: dict[str, str | Callable[[], str]]) -> tuple[Oven, str]:
    """Return what `oven new` writes for somebody who looks each answer up in a sheet."""
    told, asked = {**answers, **PLATE}, []

    def ask(question: str) -> str:
        asked.append(question)
        assert len(asked) < MOST_ASKED, asked[-3:]
        no = "n" if question.endswith("[y/n] ") else ""
        found = next((one for asked, one in told.items() if re.search(asked, question)), no)
        return found if isinstance(found, str) else found()

    made = written(Asker(WAYS[number - 1], ask, lambda said: None, ports=list).file())
    return loads(made, Oven, ConfigError, "bench"), made


def passes_the_bus_check(oven: Oven, made: str, bench: Bench) -> None:
    passed, words = walked("bus check", oven, made, bench)
    assert passed, words


def test_a_board_told_in_other_words_than_it_answers_beside_a_text_thermometer_on_a_port_of_its_own() -> None:
    bench = OtherWords()
    sends = in_turn("SHOW 3", "", "T?", "")
    replies = in_turn("3={relay}", "T={process}C")
    answers = {
        r"port\.reader\.path": f"{bench.path}-reader", r"\.path": bench.path, r"\.baud": "19200",
        r"ask\.send": sends, r"ask\.reply": replies, r"words\.relay:": "BROKEN, MADE",
        r"words\.relay_command": "BREAK, MAKE", "^device: ": in_turn("reader", ""), r"reader\.kind": "text",
        r"\.who": "-", "open_words": "OPEN", r"process\.device": "reader", "heater.field": "relay",
        r"tell\.relay\.send": "{value} 3", r"tell\.relay\.reply": "DONE", "^dead_man: ": "y",
        r"alive\.send": "TICK", r"alive\.reply": "DONE",
    }  # fmt: skip
    try:
        oven, made = text(8, answers)
        passes_the_bus_check(oven, made, bench)
        assert {one.port for one in oven.device.values()} == set(oven.port)
    finally:
        bench.close()


def test_a_controller_that_sends_floats_with_the_low_word_first_on_a_line_of_two_stop_bits() -> None:
    bench = Apart()
    answers = {
        r"\.path": bench.path, r"\.baud": "19200", r"\.stop_bits": "2", r"relays\.address": "1",
        r"controller\.address": "1", r"sensor\.address": "2", "^device: ": in_turn("sensor", ""),
        r"process\.device": "sensor", r"process\.table": "input", r"process\.register": "8",
        r"process\.format": "float32", r"process\.word_order": "low first", r"heater\.table": "coil",
        r"heater\.device": "controller", r"heater\.on": "1", r"dead_man\.device": "controller",
        "^dead_man: ": "y", r"dead_man\.register": "0", r"dead_man\.write": "5",
    } | OUTPUTS  # fmt: skip
    answers |= {r"\.kind": "", r"identity\.device": "controller", r"identity\.table": "holding"}
    try:
        oven, made = text(3, answers)
        place = oven.signal.process
        assert (place.format, place.word_order, place.scale) == ("float32", "low first", 1.0)
        passes_the_bus_check(oven, made, bench)
    finally:
        bench.close()


def test_whoever_says_that_there_is_a_timer_relay_gets_a_file_that_may_heat() -> None:
    """The question was whether the board drops its outputs: it does not, its timer relay does."""
    asked: list[str] = []
    bench = TimerBench()
    answers = {
        r"\.path": bench.path, r"\.baud": "19200", r"relays\.address": "1", "second device.*y/n": "y",
        r"sensor\.address": "2", r"process\.register": "0", r"process\.scale": "0.1",
        r"heater\.register": "0", r"back.*y/n": "y", r"back\.register": "0",
        "^dead_man: .*timer relay": "y", r"dead_man\.register": "1", r"dead_man\.write": "1",
        r"dead_man\.then": "0",
    }  # fmt: skip
    try:
        oven, made = text(4, answers)
        assert oven.dead_man is not None, asked
        passes_the_bus_check(oven, made, bench)
    finally:
        bench.close()
