"""What is typed for a key becomes a value of the kind that the example has there, or is asked again."""

import pytest

from kilnctl.cli.oven.oven_file.typed_values import ordered, read, shown, understood_as
from kilnctl.errors import ConfigError


@pytest.mark.parametrize(
    ("typed", "like", "value"),
    [
        ("0x2B07", 4711, 0x2B07),
        ("-32767", [32767], [-32767]),
        ("[1, 2]", [32767], [1, 2]),
        ("yes", False, True),
        ("0.25", 1.0, 0.25),
        ("1", 1.0, 1),
        ("OFF, ON", ["A"], ["OFF", "ON"]),
        ('["OFF","ON"]', ["A"], ["OFF", "ON"]),
        ("240 C", "260 C", "240 C"),
    ],
)
def test_what_can_be_read(typed: str, like: object, value: object) -> None:
    assert read(typed, like) == value


@pytest.mark.parametrize(("typed", "like"), [("ten", 1), ("{ a = 1 }", [1]), ("yes", 1)])
def test_what_is_of_another_kind_is_asked_again(typed: str, like: object) -> None:
    with pytest.raises(ConfigError, match="write it like"):
        read(typed, like)


def test_numbers_as_sheets_print_them() -> None:
    assert read("7FFFh", 1) == read("7FFF", 1) == 0x7FFF
    assert read("8001h, -1", [1]) == [0x8001, -1]
    assert read("1/10", 1.0) == read("/10", 1.0) == 0.1
    assert read("1.0", 1, "on") == 1
    assert isinstance(read("1.0", 1, "on"), int)
    assert read("ERR 3", ["nan"], "open_words") == ["ERR 3"]
    assert read("IS OFF, IS ON", [""]) == ["IS OFF", "IS ON"]
    assert read("<STX>", "") == "\x02"


def test_lists_are_shown_as_they_are_typed() -> None:
    assert shown(["OFF", "ON"]) == "OFF, ON"
    assert shown([32767, -1]) == "32767, -1"


def test_a_number_where_yes_or_no_is_asked_is_told_what_to_type() -> None:
    """0 "cannot be read; write it like false"."""
    with pytest.raises(ConfigError, match=r"0 is no answer here: type y \(true\) or n \(false\)"):
        read("0", False, "echoes")
    assert read("n", True, "echoes") is False


@pytest.mark.parametrize("typed", ["nan", "[nan]", "-500.0, nan"])
def test_not_a_number_is_refused_where_it_is_typed_and_not_at_the_end_of_its_section(typed: str) -> None:
    with pytest.raises(ConfigError, match="is no reading anyway"):
        read(typed, [-9999.0], "open_values")
    assert read("-500.0", [-9999.0], "open_values") == [-500.0]


@pytest.mark.parametrize(
    ("typed", "order"),
    [
        ("low word at the lower address", "low first"), ("Most significant word first", "high first"),
        ("least significant word first", "low first"), ("high word first", "high first"),
    ],
)  # fmt: skip
def test_an_order_of_words_may_be_typed_as_lists_say_it(typed: str, order: str) -> None:
    assert ordered(typed) == {"word_order": order}
    assert ordered("whatever comes first") is None


def test_a_word_of_two_parts_is_said_as_one() -> None:
    """OPEN SHORT, two words of a sheet, stood in the file as one that the board never sends."""
    (said,) = understood_as("open_words", read("OPEN SHORT", ["ERR"], "open_words"))
    assert '"OPEN SHORT"' in said
    assert "comma" in said
    assert understood_as("open_words", read("OPEN, SHORT", ["ERR"], "open_words")) == []


@pytest.mark.parametrize(
    ("typed", "meant"), [("float", "float32"), ("REAL", "float32"), ("double", "float64")]
)
def test_a_format_is_taken_by_the_name_that_lists_give_it(typed: str, meant: str) -> None:
    assert read(typed, "int16", "format") == meant
    assert read(typed, "word", "name") == typed
