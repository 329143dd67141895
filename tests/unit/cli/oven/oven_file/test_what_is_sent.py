"""What goes over the wire: examples of the Modbus application protocol (V1.1b3, 6.5, 6.6, 6.12)."""

import functools
import operator
import re

import pytest

from kilnctl.cli.oven.oven_file.what_is_sent import what_is_sent
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.guide.pages import page
from kilnctl.tomlfile import loads


def sent(topic: str, example: int, *changes: tuple[str, str]) -> list[str]:
    text = re.findall(r"```toml\n(.*?)```", page(topic).text(), re.S)[example]
    for before, after in changes:
        assert before in text
        text = text.replace(before, after)
    return list(what_is_sent(loads(text, Oven, ConfigError, "example")))


def ored(text: str) -> str:
    return f"{functools.reduce(operator.xor, text.encode()):02X}"


@pytest.mark.parametrize(
    ("place", "frame"),
    [
        ('table = "coil"\nregister = 172', "05 00 AC FF 00"),
        ('table = "holding"\nregister = 1\non = 3', "06 00 01 00 03"),
        ('table = "holding"\nregister = 1\non = [10, 258]\noff = [0, 0]', "10 00 01 00 02 04 00 0A 01 02"),
    ],
)
def test_the_frames_of_the_specification(place: str, frame: str) -> None:
    lines = sent(
        "modbus-relay",
        0,
        (
            '[output.heater]\ndevice = "relays"\ntable = "coil"\nregister = 0',
            f'[output.heater]\ndevice = "relays"\n{place}',
        ),
    )
    assert f": 01 {frame} " in lines[0]


def test_lines_of_text_as_they_go_out() -> None:
    """With checksum and end; the exclusive or of each is worked here."""
    lines = sent(
        "text-board",
        0,
        ('"heat {value}", reply', '"P {value:000}", reply'),
        ('field = "heater"', 'field = "heater"\nkind = "duty"\non = 100'),
    )
    assert lines[:3] == [
        f"output.heater, full heat: 'P 100*{ored('P 100')}' CR LF",
        f"output.heater, a third: 'P 033*{ored('P 033')}' CR LF",
        f"output.heater, off: 'P 000*{ored('P 000')}' CR LF",
    ]
    assert lines[-2:] == [f"micro is asked: '{ask}*{ored(ask)}' CR LF" for ask in ("temp", "out")]


def test_over_tcp_a_request_has_a_header_and_no_crc() -> None:
    """Messaging guide 1.0b, 3.1.3: number, protocol 0, length of the rest, unit; the CRC is not sent."""
    lines = sent("network", 0)
    assert lines
    for line in lines:
        assert re.search(r": \(number, 2 bytes\) 00 00 00 06 01 0[56]( [0-9A-F]{2}){4}$", line), line


def test_ascii_frames_are_shown_as_they_are_typed() -> None:
    """Serial line guide 1.02, 2.5.2: a colon, the bytes as letters, LRC, CR LF."""
    lines = sent("modbus-relay", 0, ("baud = 9600", 'baud = 9600\nframes = "ascii"'))
    assert lines[0] == "output.heater, on: :01050000FF00FB CR LF"
