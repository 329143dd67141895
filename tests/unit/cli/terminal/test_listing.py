"""What is known here, one line for each, and what can be done with it."""

from pathlib import Path

import pytest

from kilnctl.cli.terminal.listing import list_known
from kilnctl.config import home


def test_every_known_file_has_its_line(own_home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (own_home / "ovens").mkdir()
    (own_home / "ovens" / "mine.toml").touch()
    assert list_known("ovens", lambda path: f"at {path.stem}", "What then.") == 0
    *lines, last = filter(None, capsys.readouterr().out.splitlines())
    assert len(lines) == len(home.known("ovens")) > 1
    assert len({line.index("  at ") for line in lines}) == 1  # one column
    assert any(line.split() == ["mine", "at", "mine"] for line in lines)
    assert last.endswith(f"{own_home / 'ovens'}. What then.")
