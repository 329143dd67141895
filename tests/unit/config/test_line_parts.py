"""What may stand in the lines of a text board."""

import pytest

from kilnctl.config.line_parts import why_no_comma, why_no_end, why_not_read, why_not_sent


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("T={process}", ""),
        ('{"t": {process}, "on": {heater}}', ""),
        ("T{t:000.0}P{p:000}", ""),
        ("{t} °C {any}", ""),
        ("{any}", ""),
        ("{a}{b}", "touch"),
        ("{any}{b}", "touch"),
        ("{a}1{any}", "touch"),
        ("{a} {any}", ""),
        ("{a:0}{b}", ""),
        ("{a} {a}", "twice"),
        ("{T}", "small letters"),
        ("{the heat}", "small letters"),
        ("{t:%d}", "no number"),
        ("T={t}\nEND", ""),
        ("T={t}\r\n", "answer_end"),
        (r"T={t}\nEND", "answer_end"),
    ],
)
def test_an_answer(line: str, said: str) -> None:
    assert said in why_not_read(line)
    assert bool(said) == bool(why_not_read(line))


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("P {value:000}", ""),
        ("5 °C", "ASCII"),
        ("P {value:    }", "no number"),
        ("P\n", "line_end"),
        (r"P\r", "line_end"),
    ],
)
def test_what_is_sent(line: str, said: str) -> None:
    assert bool(said) == bool(why_not_sent(line))
    assert said in why_not_sent(line)


def test_ends() -> None:
    assert [why_no_end(end) for end in ("LF", "CR LF", "ETX", ";", "; CR LF")] == [""] * 5
    assert all(why_no_end(end) for end in ("", "lf", "CRLF", "A B C D", "\n"))


def test_a_decimal_comma_is_not_taken_for_the_comma_between_two_numbers() -> None:
    """20,5,30 could be 20 and 5,30."""
    assert "{t:00.0}" in why_no_comma("{t},{h}", ())
    for sure in ("{t};{h}", "{t:00.0},{h}", "{door},{t}", "T={t}, H={h}"):
        assert not why_no_comma(sure, ("door",))
