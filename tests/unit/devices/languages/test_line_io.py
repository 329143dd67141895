"""A line of text, read whole or not at all; a damaged one stays damaged."""

from dataclasses import dataclass, field

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.devices.languages.line_io import Banner, read_line
from kilnctl.errors import BadReply


@dataclass
class Bytes:
    """A port with bytes in it."""

    waiting: bytearray
    timeout: float | None = 0.2
    is_open: bool = True
    written: list[bytes] = field(default_factory=list)

    def read(self, size: int = 1) -> bytes:
        got, self.waiting = self.waiting[:size], self.waiting[size:]
        return bytes(got)


def line_of(data: bytes, longest: int = 20) -> str | None:
    return read_line(Bytes(bytearray(data)), b"\n", longest, VirtualClock())  # type: ignore[arg-type]


def test_a_line_is_whole_or_none() -> None:
    assert line_of(b"T 218.0\r\nT 219.0\r\n") == "T 218.0"
    assert line_of(b"T 218.0") is None


def test_a_damaged_byte_matches_nothing() -> None:
    assert line_of(b"T 2\xff8.0\n") == "T 2\N{REPLACEMENT CHARACTER}8.0"


def test_a_line_without_an_end_is_given_up() -> None:
    with pytest.raises(BadReply, match="more than 20 characters"):
        line_of(b"x" * 30)


def test_a_banner_tells_of_a_restart_at_the_beginning_or_in_mid_reply() -> None:
    banner = Banner("ready", 1.0, VirtualClock())
    assert banner.overheard(b"..ready v1\n")
    assert banner.seen_in("ready v1")
    assert not banner.seen_in("T ready")
    assert banner.within("T ready")
    assert not Banner("", 1.0, VirtualClock()).within("ready")
