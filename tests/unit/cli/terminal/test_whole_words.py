"""What is printed at a terminal of 80 columns is read in whole words, as the pages of plan and guide are."""

import fcntl
import io
import os
import pty
import struct
import termios
from collections.abc import Iterator
from typing import TextIO

import pytest

from kilnctl.cli.terminal.whole_words import whole_words

SAID = (
    "tempering-oven: off, but it may be HOT: 124 °C (255 °F) when the heat ended, 2026-12-01 06:53; nothing "
    "is watching it. Keep it shut; `kilnctl run --record-only --oven tempering-oven` watches it"
)


@pytest.fixture
def terminal() -> Iterator[TextIO]:
    """A real one, 80 columns wide."""
    controller, own = pty.openpty()
    fcntl.ioctl(own, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    with open(own, "w") as stream:
        yield stream
    os.close(controller)


def test_no_word_and_no_command_is_cut_in_two(terminal: TextIO) -> None:
    rows = whole_words(SAID, terminal).split("\n")
    assert max(map(len, rows)) <= 80
    assert " ".join(rows) == SAID
    assert any("`kilnctl run --record-only --oven tempering-oven`" in row for row in rows)


@pytest.mark.parametrize(
    ("line", "second"),
    [
        (
            "  alarm off_not_read: Off: sent with every tick but not read back: nothing answers, go",
            "  answers",
        ),
        ("  - Energy balance is not checked: the oven has not been learned here (`kilnctl tune`).", "    (`"),
        (
            "drawknife-80crv2   80CrV2: stress relief, harden, temper (in hardening-furnace, oven)",
            " " * 19 + "oven",
        ),
        ("a long column of words of its own, then   a few words more, which do not fit in a row", "a row"),
    ],
    ids=["indent", "list", "columns", "no narrow column"],
)
def test_the_next_row_begins_where_the_words_began(terminal: TextIO, line: str, second: str) -> None:
    rows = whole_words(f"oven: tripped\n{line}\n\nend", terminal).split("\n")
    assert (rows[0], rows[-2:]) == ("oven: tripped", ["", "end"])
    assert line.startswith(rows[1])
    assert rows[2].startswith(second)


def test_a_number_and_its_unit_stay_on_one_row(terminal: TextIO) -> None:
    said = "   2 temper 1: soak 218 °C (424 °F): 30 min, highest 218.8 °C (+0.8 K), rms 0.29 K"
    rows = whole_words(said, terminal).split("\n")
    assert rows[1].strip() == "0.29 K"


def test_a_pipe_gets_it_as_it_is() -> None:
    assert whole_words(SAID, io.StringIO()) == SAID
    reads, writes = os.pipe()
    with open(writes, "w") as stream:
        assert whole_words(SAID, stream) == SAID
    os.close(reads)


def test_a_path_longer_than_the_row_is_left_to_the_terminal(terminal: TextIO) -> None:
    path = "/dev/serial/by-id/" + "x" * 90
    assert whole_words(f"{path}: cannot be written", terminal).split("\n")[0].startswith(path)
