"""A broken sensor's word stands where the number would be, and what follows the number may be missing.

A board of lines said `OVEN 412.6 C` and `OVEN OPEN`, each followed by `DONE`: unplugged, its sensor was told
as "no answer: its cable, or its power?".
"""

import pytest

from kilnctl.devices.languages.reply_patterns import pattern

TWO_LINES = "OVEN {process} C\nDONE"


@pytest.mark.parametrize("came", ["OVEN OPEN\nDONE", "OVEN OPEN C\nDONE"])
def test_the_word_stands_with_and_without_the_rest_of_its_line(came: str) -> None:
    match = pattern(TWO_LINES, ["OPEN"]).fullmatch(came)
    assert match is not None
    assert match["process"] == "OPEN"


@pytest.mark.parametrize("word", ["--- (no sensor)", "n/a", "---", "err 3!"])
def test_a_word_of_other_signs_stands_without_the_rest_too(word: str) -> None:
    """A board said `oven = --- (no sensor)` where it says `oven = 412,6 F`: its off was not read back."""
    match = pattern("oven = {process} F\nheat = {heater}", [word], {"heater": ("off", "on")}).fullmatch(
        f"oven = {word}\nheat = off"
    )
    assert match is not None
    assert match.groupdict() == {"process": word, "heater": "off"}


@pytest.mark.parametrize("word", ["-999", "850", "1."])
def test_a_word_that_a_number_may_end_with_wants_the_rest(word: str) -> None:
    assert pattern("OVEN {process} C", [word]).fullmatch(f"OVEN {word} C")
    assert pattern("OVEN {process} C", [word]).fullmatch(f"OVEN {word}") is None


def test_values_behind_it_may_be_missing_too() -> None:
    reply = "OVEN {process} C HEAT {heater} B {board} C\nDONE"
    match = pattern(reply, ["OPEN"], {"heater": ("OFF", "ON")}).fullmatch("OVEN OPEN\nDONE")
    assert match is not None
    assert match.groupdict() == {"process": "OPEN", "heater": None, "board": None}
    assert pattern(reply, ["OPEN"]).fullmatch("OVEN 20.0 C HEAT 1 B OPEN\nDONE")


@pytest.mark.parametrize(
    "came", ["OVEN 412.6\nDONE", "OVEN OPEN\n", "OVEN OPE\nDONE", "OVEN\nDONE", "OVEN 4OPEN\nDONE"]
)
def test_a_number_without_its_rest_is_damaged_as_before(came: str) -> None:
    assert pattern(TWO_LINES, ["OPEN"]).fullmatch(came) is None


def test_a_pattern_asks_for_as_many_lines_as_before() -> None:
    assert pattern(TWO_LINES, ["OPEN"]).pattern.count("\n") == 1
