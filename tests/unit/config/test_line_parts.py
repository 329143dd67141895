"""What may stand in the lines of a text board."""

import pytest

from kilnctl.config.line_parts import why_no_end, why_not_read, why_not_sent


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
    ],
)
def test_an_answer(line: str, said: str) -> None:
    assert said in why_not_read(line)
    assert bool(said) == bool(why_not_read(line))


@pytest.mark.parametrize(
    ("line", "said"), [("P {value:000}", ""), ("5 °C", "ASCII"), ("P {value:    }", "no number")]
)
def test_what_is_sent(line: str, said: str) -> None:
    assert bool(said) == bool(why_not_sent(line))
    assert said in why_not_sent(line)


def test_ends() -> None:
    assert [why_no_end(end) for end in ("LF", "CR LF", "ETX", ";", "; CR LF")] == [""] * 5
    assert all(why_no_end(end) for end in ("", "lf", "CRLF", "A B C D", "\n"))
