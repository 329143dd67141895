"""The list of ovens: a file that cannot be read is said in its line and hides no other."""

from pathlib import Path

import pytest

from kilnctl.cli.oven.oven_file.list_ovens import list_ovens


def test_a_wrong_file_has_its_line_too(own_home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (own_home / "ovens").mkdir()
    (own_home / "ovens" / "broken.toml").write_text("name = ")
    assert list_ovens() == 0
    said = {line.split()[0]: line for line in capsys.readouterr().out.splitlines() if line}
    assert "  wrong: " in said["broken"]
    assert said["tempering-oven"].endswith("simulated, bundled")
