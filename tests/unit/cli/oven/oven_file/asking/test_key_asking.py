"""Single questions of `oven new`: what is asked before what, and what Enter takes."""

import re

import pytest
from foreign.first_answers import in_turn
from unit.cli.oven.oven_file.asking.test_table_asking_every_heater import MODBUS, SERIAL, TEXT, person

from kilnctl.cli.oven.oven_file.asking.asking import Asker
from kilnctl.cli.oven.oven_file.asking.questions import LAMP, SAME_FUNCTIONS
from kilnctl.cli.oven.oven_file.follow_ups import follow_ups
from kilnctl.cli.oven.oven_file.new import ask_way
from kilnctl.cli.oven.oven_file.templates import WAYS, meaning


def questions(way: int, **more: object) -> tuple[list[str], list[str], dict]:
    """Answer as a person with a plain board does; return what was asked, what was said, and the file."""
    asked, said, answers = [], [], person(way, "switch", SERIAL)

    def ask(question: str) -> str:
        asked.append(question)
        told = next((one for words, one in more.items() if words in question), None)
        return answers(question) if told is None else told() if callable(told) else str(told)

    return asked, said, Asker(WAYS[way - 1], ask, said.append).file()


@pytest.mark.parametrize("way", [*MODBUS[:2], *TEXT])
def test_the_lamp_is_asked_for_before_a_watchdog_takes_the_last_output(way: int) -> None:
    """From a terminal in tmux or ssh nothing heats without it; the spare relay was given away already."""
    asked, _, _ = questions(way)
    lamp = next(i for i, one in enumerate(asked) if LAMP in one)
    assert lamp < next(
        i for i, one in enumerate(asked) if one.startswith(("dead_man", "output.heater.holds: Is it"))
    )


def test_a_lamp_that_is_there_stands_in_the_file() -> None:
    _, _, file = questions(1, **{"output.lamp: ": "y", "output.lamp.register": "5"})
    assert file["output"]["lamp"]["register"] == 5


def test_no_number_of_a_broken_sensor_is_offered_that_the_sheet_has_not_named() -> None:
    """[32767, -32768] was one Enter away."""
    asked, _, file = questions(1)
    (offered,) = [one for one in asked if "process.open_values" in one]
    assert "[none]" in offered
    assert "open_values" not in file["signal"]["process"]


def test_whoever_is_asked_how_a_further_number_is_written_is_told_why() -> None:
    arms = {
        "heater.table": "holding",
        "heater.register": "20",
        "heater, anything": in_turn("multiple", ""),
        "heater.multiple": "true",
        "arm: ": in_turn("y", "n"),
    }
    _, said, _ = questions(1, **arms, **{"arm.register": "30", "arm.write": "1", "arm.multiple": "n"})
    assert SAME_FUNCTIONS in said


@pytest.mark.parametrize(
    ("way", "kind", "key"),
    [(6, "set-point", "heater_live.bit"), (2, "pulse", "heater.on"), (3, "duty", "heater.on")],
)
def test_no_bit_and_no_number_of_full_heat_is_offered_that_nobody_has_given(
    way: int, kind: str, key: str
) -> None:
    """[4], the bit of an example's panel, was one Enter away."""
    asked, answers = [], person(way, kind, SERIAL)

    told = {"heater_live: do you": "y", "live.table": "input", "live.register": "6"}

    def ask(question: str) -> str:
        asked.append(question)
        return next((said for words, said in told.items() if words in question), None) or answers(question)

    file = Asker(WAYS[way - 1], ask, [].append).file()
    (offered,) = [one for one in asked if f"{key}" in one]
    assert "[" not in offered or "[none]" in offered
    assert "bit" not in file["signal"].get("heater_live", {})


def test_what_the_line_protocol_says_of_full_heat_is_one_enter_away() -> None:
    """Its 1000 is no number of an example's board, and nobody can know it from the board's table."""
    answers = person(9, "duty", SERIAL)
    asked = []

    def ask(question: str) -> str:
        asked.append(question)
        assert len(asked) < 300, "asked again and again"
        return "" if "heater.on" in question else answers(question)

    file = Asker(WAYS[8], ask, [].append).file()
    assert file["output"]["heater"]["on"] == 1000


def test_a_question_mark_is_answered_with_what_the_key_means() -> None:
    """`?` was refused as a temperature."""
    asked, said, file = questions(1, **{"limit: ": in_turn("?", "260 C")})
    assert file["limit"] == "260 C"
    assert sum(one.startswith("limit") for one in asked) == 2
    assert any(one.startswith("limit: ") for one in said)
    assert not any("cannot read" in one for one in said)


FED = {
    "dead_man: ": "y",
    "output.heater.holds: Is": "n",
    "dead_man.register": "10",
    "dead_man.stored": "n",
    "dead_man.write": "10",
    "dead_man.drops_after": "5 s",
}


@pytest.mark.parametrize(
    "key", ["dead_man.drops_after", "dead_man.write", "signal.process.low", "limit", "name"]
)
def test_a_key_that_the_file_needs_cannot_be_left_out(key: str) -> None:
    """A - at drops_after, "a limit, so no default", was taken and went on to the next question."""
    plain, typed = person(1, "switch", SERIAL), iter(["-"])

    def answer(question: str) -> str:
        told = next((one for words, one in FED.items() if question.startswith(words)), None)
        return told or plain(question)

    asked, said = [], []

    def ask(question: str) -> str:
        asked.append(question)
        return next(typed, "") or answer(question) if question.startswith(f"{key}:") else answer(question)

    Asker(WAYS[0], ask, said.append).file()
    assert len([one for one in asked if one.startswith(f"{key}:")]) == 2
    assert any("cannot be left out" in line for line in said)


def test_a_value_where_the_name_of_a_key_is_wanted_is_told_so() -> None:
    """ "there is no 50 ms" was the answer to a gap."""
    typed = iter(["50 ms", ""])
    _, said, _ = questions(1, **{"port.rs485, anything else": lambda: next(typed, "")})
    assert any("type the name of a key first" in line and "50 ms" in line for line in said), said[-5:]


def test_what_only_some_watchdogs_have_shows_that_enter_leaves_it_out() -> None:
    asked, _, _ = questions(1, **FED)
    for key in ("dead_man.then", "dead_man.counts_to"):
        assert any(one.startswith(f"{key} [none]") for one in asked)


def test_the_first_question_says_where_a_timer_relay_is_asked_for() -> None:
    """A board on a network with a timer relay behind it fits two of the ways."""
    said: list[str] = []
    ask_way(lambda _question: "5", said.append)
    assert re.search("timer relay .* is asked for in each", " ".join(said))


def test_the_port_of_a_text_board_beside_modbus_ones_is_not_asked_for_frames() -> None:
    answers = {"device: ": in_turn("reader", ""), "device.reader.kind": "text", "ask.send": in_turn("R", "")}
    asked, _, file = questions(1, **answers, **{"ask.reply": "T={oven}", "port.reader.path": "/dev/ttyUSB5"})
    assert file["device"]["reader"]["kind"] == "text"
    assert any(one.startswith("port.reader.baud") for one in asked)
    assert not [one for one in asked if one.startswith(("port.reader.frames", "port.reader.echoes"))]


def test_a_field_whose_usual_name_no_answer_has_is_asked_with_the_names_that_they_have() -> None:
    """`heater` was offered and nothing said: Enter led to an output that no answer shows."""
    answers = {"ask.send": in_turn("R", ""), "ask.reply": "{oven} {a}", "process.field": "oven"}
    answers |= {"tell.a.send": "A {value}", "tell.a.reply": "OK"}
    asked, said, file = questions(8, **answers, **{"heater.field": "a"})
    assert "signal.process.field: " in asked
    assert "# the answers have oven, a" in said
    assert file["output"]["heater"]["field"] == "a"


@pytest.mark.parametrize(
    ("typed", "written"),
    [
        *[("", None), ("both", None), ("5", None), ("5 and 6", None), ("05, 06", None)],
        *[("y", True), ("15", True), ("15/16", True), ("16", True), ("only 15 and 16", True)],
    ],
)
def test_the_functions_of_a_board_are_asked_for_at_its_heater(typed: str, written: bool | None) -> None:
    """`multiple` was one of 17 keys of "anything else": nobody finds it by that name."""
    asked, said, file = questions(1, **{"heater.multiple": typed})
    (question,) = [one for one in asked if "heater.multiple" in one]
    assert "[5 and 6]" in question
    assert any("15 and 16" in one and "Enter" in one for one in said)
    assert file["output"]["heater"].get("multiple") is written


def test_the_contact_of_a_timer_is_told_and_asked_for_as_one_with_its_polarity() -> None:
    """Its help was the heater's: "made only while the heat is on"."""
    assert "made while the timer runs" in meaning(("dead_man", "back"), "timer-relay")
    assert "only while the heat is on" in meaning(("output", "heater", "back"), "timer-relay")
    made = {"device": "board", "table": "discrete", "register": 3}
    assert [one.key for one in follow_ups(("dead_man", "back"), "register", made, modbus=True)] == [
        "inverted"
    ]


def test_how_cold_and_hot_a_boards_terminals_may_be_is_offered_and_no_other_limit() -> None:
    """No sheet tells it, and nobody knew what to type."""
    told = {"signal: ": in_turn("cold_junction", ""), "cold_junction.register": "6"}
    asked, _, file = questions(1, **told, **{"cold_junction.low": "", "cold_junction.high": ""})
    assert "[-20 C]" in next(one for one in asked if "cold_junction.low" in one)
    assert (file["signal"]["cold_junction"]["low"], file["signal"]["cold_junction"]["high"]) == (
        "-20 C",
        "85 C",
    )
    assert "[" not in next(one for one in asked if "process.low" in one)


def test_the_gap_of_two_sensors_may_wait_until_it_is_measured() -> None:
    assert "left out until you have measured it" in meaning(("signal", "second", "apart"), "modbus-relay")
