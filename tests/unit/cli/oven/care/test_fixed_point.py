"""A plateau of a run beside the freezing point of tin: 231.928 degC, ITS-90 (Preston-Thomas 1990)."""

from pathlib import Path

import pytest
from heats import START_UTC, header, ruled_run

from kilnctl.cli.main import run as kilnctl
from kilnctl.config import home
from kilnctl.logbook.entries import Calibration, add
from kilnctl.logbook.writer import Logbook


def test_the_plateau_and_the_correction_there_are_said(
    own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """By ruler: two hours at 218 degC, read 14 K too high."""
    with Logbook(home.logbook_path()) as book:
        ruled_run(book, hot_k=14.0)
    assert kilnctl(["care", "fixed-point", "1", "tin"]) == 0
    said = capsys.readouterr().out
    assert "plateau at 232.0 C, tin is 231.9 C: correction -0.1 K there, ± 0.5 K" in said
    assert '--at "232.0 C is 231.9 C"' in said
    assert kilnctl(["care", "fixed-point", "1", "zinc"]) == 2


def test_a_run_that_was_corrected_says_what_the_sensor_itself_read(
    own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The record holds corrected readings: of 232 with 3 K in force the sensor itself read 229."""
    with Logbook(home.logbook_path()) as book:
        points = ((229.0, 232.0),)
        made = Calibration(header().oven, "process", 1.0, 3.0, points, 3.0, None, "ref")
        number = add(book, made, START_UTC - 60.0)
        ruled_run(book, hot_k=14.0, commissioning=(number,))
    assert kilnctl(["care", "fixed-point", "1", "tin"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "the sensor itself read 229.0 C" in said
    assert "correction +2.9 K there" in said
    assert '--at "229.0 C is 231.9 C"' in said
