"""Which key a text board's reply shows to be missing; the sums are worked by hand."""

import pytest

from kilnctl.config.device_keys import TextDevice
from kilnctl.devices.languages.reply_patterns import pattern
from kilnctl.devices.probing.text_replies import left_over, likely_reply, missing_key

BOARD = TextDevice.model_validate(
    {"kind": "text", "port": "p", "ask": ({"send": "READ", "reply": "T={t}"},), "tell": {}}
)
ENTER = BOARD.model_copy(update={"line_end": "CR LF"})


@pytest.mark.parametrize(
    ("reply", "key"),
    [
        ("READ", "echoes = true"),
        ("123456789#4B37", 'checksum = "crc16", checksum_mark = "#"'),  # the check value of CRC-16 Modbus
        ("AB*03", 'checksum = "xor8"'),  # 41h xor 42h
        ("AB*83", 'checksum = "sum8"'),  # 41h + 42h
        ("AB*99", "letter by letter"),
        ("T=20,0", "comma"),
        ("T=-20.5", "letter by letter"),
        ("T=FAULT", "t is the word FAULT"),
        ("T=0A3F", "t is hexadecimal (0A3F): write it with its digits, like {t:XXXX}"),
        ("T=20.0C", 'reply = "T={t}C"'),
    ],
)
def test_a_reply_names_the_key_that_is_missing(reply: str, key: str) -> None:
    assert key in missing_key(f"micro (on /dev/x), READ: unexpected reply {reply!r}", BOARD)


def test_what_follows_an_answer_is_a_prompt_or_a_further_line() -> None:
    assert left_over("micro", b"") == ""
    assert 'prompt = "> "' in left_over("micro", b"> ")
    assert "'DONE' follows" in left_over("micro", b"DONE\r\n")
    assert 'answer_end = "CR LF"' in left_over("micro", b"\n")
    assert 'line_end = "CR", answer_end = "CR LF"' in left_over("micro", b"WHAT?\r\n", ENTER)


@pytest.mark.parametrize(
    ("expected", "came", "likely"),
    [
        ("T={t}", "T=23.4 C", "T={t} C"),
        ("T={t}", "T=23.4\ufffd\ufffdC", "T={t}°C"),
        ("{t}", "T=23.4", "T={t}"),
        ("T {t} P {p}", "CH1 T 23.4 P 50 %", "CH1 T {t} P {p} %"),
        ("T={t}\\nOK", "T=23.4 C\\nOK", "T={t} C\\nOK"),
        ("T={t}", "ERR 01", ""),
        ("T={t} H={h}", "T=23.4", ""),
    ],
)
def test_the_pattern_that_what_came_would_need(expected: str, came: str, likely: str) -> None:
    assert likely_reply(expected.replace("\\n", "\n"), came, BOARD) == likely.replace("\\n", "\n")


def test_a_comma_in_a_number_is_named_as_a_key() -> None:
    assert 'decimal = ","' in missing_key("micro, READ: unexpected reply 'T=20,0'", BOARD)


UNITS = BOARD.model_copy(
    update={
        "ask": tuple(
            one.model_copy(update={"send": "RD T1", "reply": "T1 = {process} C"}) for one in BOARD.ask
        )
    }
)


@pytest.mark.parametrize("reply", ["T1 = WAIT", "T1 = OPEN", "T1 = SHORT C", "T1 WAIT", "ERR 7", "ERROR 12"])
def test_no_advice_makes_a_number_of_a_name_or_of_an_error_the_temperature(reply: str) -> None:
    """Of "T1 = WAIT" the digit of the channel would have been the temperature."""
    assert "write reply" not in missing_key(f"micro, RD T1: unexpected reply {reply!r}", UNITS)


@pytest.mark.parametrize("reply", ["T1 = WAIT", "T1 = OPEN C"])
def test_a_word_in_the_place_of_the_number_is_told_as_a_word(reply: str) -> None:
    said = missing_key(f"micro, RD T1: unexpected reply {reply!r}", UNITS)
    assert f"process is the word {reply.split()[2]}" in said
    assert "open_words" in said
    assert "not ready" in said


def test_another_letter_of_the_unit_is_told_as_a_unit() -> None:
    said = missing_key("micro, RD T1: unexpected reply 'T1 = +0070.3 F'", UNITS)
    assert 'unit = "F"' in said


def test_a_broken_sensors_word_may_stand_without_the_unit_of_the_number() -> None:
    made = pattern("T1 = {process} C", ("OPEN", "999.9"))
    for end in ("OPEN", "OPEN C", "20.5 C"):
        assert made.fullmatch(f"T1 = {end}")
    for end in ("20.5", "20.5 F", "1999.9", "OPEN F"):
        assert not made.fullmatch(f"T1 = {end}")
