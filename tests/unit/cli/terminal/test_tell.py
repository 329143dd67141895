"""A line for a person is in the units that were chosen."""

from pathlib import Path

import pytest

from kilnctl.cli.terminal.tell import tell


def test_lines_are_told_in_the_units_that_were_chosen(
    own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    tell("at 100 °C", "and no more")
    (own_home / "preferences.toml").write_text('units = "F"\n')
    tell("at 100 °C")  # water boils at 212 °F
    assert capsys.readouterr().out == "at 100 °C\nand no more\nat 212 °F\n"
