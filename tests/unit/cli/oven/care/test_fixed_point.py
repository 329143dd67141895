"""A plateau of a run beside the freezing point of tin: 231.928 degC, ITS-90 (Preston-Thomas 1990)."""

from pathlib import Path

import pytest
from heats import ruled_run

from kilnctl.cli.main import run as kilnctl
from kilnctl.config import home
from kilnctl.logbook.writer import Logbook


def test_the_plateau_and_the_correction_there_are_said(
    own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """By ruler: two hours at 218 degC, read 14 K too high."""
    with Logbook(home.logbook_path()) as book:
        ruled_run(book, hot_k=14.0)
    assert kilnctl(["care", "fixed-point", "1", "tin"]) == 0
    said = capsys.readouterr().out
    assert "plateau at 232.0 C, tin is 231.9 C: correction -0.1 K" in said
    assert kilnctl(["care", "fixed-point", "1", "zinc"]) == 2
