"""Numbers in lines of text. Two's complement and hexadecimal digits: common practice, no single source."""

import re

import pytest

from kilnctl.config.line_parts import READ, SENT
from kilnctl.devices.languages.text_numbers import digits, expression, meant


@pytest.mark.parametrize(
    ("raw", "picture", "text"),
    [
        (50, "", "50"),
        (0.5, "", "0.5"),
        (50, "000", "050"),
        (100, "000", "100"),
        (37.5, "000.0", "037.5"),
        (0, "0.00", "0.00"),
        (5, "   0", "   5"),
        (5, "0   ", "5   "),
        (7, "+000", "+007"),
        (-7, "+000", "-007"),
        (255, "XX", "FF"),
        (10, "xxxx", "000a"),
        (-1, "+XXXX", "FFFF"),
    ],
)
def test_a_number_is_written_as_its_picture_shows(raw, picture, text):
    assert digits(raw, picture) == text
    assert re.fullmatch(expression(picture), text)
    assert meant(text, picture) == raw


def test_a_comma_is_a_decimal_point_where_the_board_writes_one():
    assert digits(21.5, "00.0", ",") == "21,5"
    assert meant("21,5", "", ",") == 21.5
    assert re.fullmatch(expression("", ","), "21,5")
    assert not re.fullmatch(expression(""), "21,5")


@pytest.mark.parametrize(
    ("picture", "text", "number"),
    [
        ("", "  +21.5", 21.5),
        ("", "2.15E+01", 21.5),
        ("", "21.50000000", 21.5),
        ("0", "1", 1),
        ("+000.0", "-012.5", -12.5),
        ("      ", "21.5  ", 21.5),
        ("XX", "1f", 31),
        ("+XX", "FE", -2),
    ],
)
def test_what_boards_write_for_a_number(picture, text, number):
    assert re.fullmatch(expression(picture), text)
    assert meant(text, picture) == number


def test_blanks_within_a_number_and_an_exponent_behind_whole_digits_are_none() -> None:
    """Blanks inside were thrown away: "1 23" was 123; and a bare number took 25E1 for 250."""
    with pytest.raises(ValueError, match="1 23"):
        meant("1 23", "   0")
    assert not re.fullmatch(expression(""), "25E1")


@pytest.mark.parametrize(("picture", "text"), [("0", "10"), ("000", "21"), ("XX", "1G"), ("", "1E+")])
def test_what_has_another_width_is_another_thing(picture, text):
    assert not re.fullmatch(expression(picture), text)


@pytest.mark.parametrize("picture", ["", "d", "0f", "03", "X0", "0.", "%d", "++0"])
def test_what_is_no_picture(picture):
    assert not SENT.fullmatch(picture)
    assert not READ.fullmatch(picture)


def test_blanks_alone_can_be_read_and_not_sent():
    assert READ.fullmatch("    ")
    assert not SENT.fullmatch("    ")
