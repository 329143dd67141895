"""The supervisor's last words: kept for the view whose controller died, and a person's line in any case."""

from pathlib import Path

import pytest

from kilnctl.marks import supervisor_report
from kilnctl.marks.supervisor_report import LastWords

pytestmark = pytest.mark.usefixtures("own_home")


def test_they_come_back_as_written() -> None:
    said = LastWords(
        "2026-01-01T00:00:00+00:00", "silent for 3.1 s", {"left": True, "right": False}, {"left": "a"}
    )
    supervisor_report.write(said)
    assert supervisor_report.read() == said


@pytest.mark.parametrize("damaged", ["", "{", "[]", '{"utc": "x"}', '{"wrong": 1}'])
def test_damaged_ones_are_none(damaged: str, own_home: Path) -> None:
    (own_home / "last-words.json").write_text(damaged)
    assert supervisor_report.read() is None


def test_nothing_said_is_none() -> None:
    assert supervisor_report.read() is None


def test_a_heat_that_was_not_read_back_is_shouted() -> None:
    line = LastWords("t", "the controller died", {"left": True, "right": False}).line()
    assert "NOT read back as off: right" in line
    assert "Cut the power by hand" in line


def test_a_heat_that_is_off_is_said_calmly() -> None:
    assert LastWords("t", "why", {"left": True}).line() == "why; heat is off, read back: left"
