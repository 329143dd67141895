"""A run as a file."""

from pathlib import Path

import pytest

from kilnctl.cli.main import run as kilnctl

Out = pytest.CaptureFixture[str]


@pytest.mark.parametrize("kind", ["html", "pdf"])
def test_runs_are_written_as_a_page(folder: Path, kind: str, capsys: Out) -> None:
    out = folder / f"month.{kind}"
    assert kilnctl(["runs", "--steel", "O1", "--out", str(out)]) == 0
    assert "2 heats" in capsys.readouterr().out
    assert kilnctl(["compare", "1", "2", "--out", str(folder / f"both.{kind}")]) == 0
    assert kilnctl(["runs", "--out", str(folder / "month.xlsx")]) == 2
    if kind == "html":
        text = out.read_text(encoding="utf-8")
        assert "1 of 1 heats ran to the end." in text
        assert "1 real heats, 1 simulated" in text


@pytest.mark.parametrize("kind", ["csv", "json", "html", "png", "svg", "pdf"])
def test_every_format_is_written(folder: Path, kind: str) -> None:
    out = folder / f"ein blatt.{kind}"
    assert kilnctl(["export", "1", "--out", str(out)]) == 0
    assert out.stat().st_size > 1000
