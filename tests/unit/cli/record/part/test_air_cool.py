"""How fast a part cooled in air, kept for the record of its heat."""

from pathlib import Path

import pytest

from kilnctl.cli.main import run as kilnctl


def test_a_cooling_that_was_timed_is_told_with_the_part(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert kilnctl(["part", "air-cool", "knife 1", "95 s", "--run", "3", "--who", "J. Maker"]) == 0
    assert "700 to 500 °C in 95 s" in " ".join(capsys.readouterr().out.split())
    assert kilnctl(["part", "air-cool", "knife 1", "95"]) == 2
