"""The commands about the record, as a user types them: what they print and with which exit code they end."""

import json
import re
from pathlib import Path

import pytest
from heats import header, samples

from kilnctl.cli.main import run as kilnctl
from kilnctl.config.home import bundled
from kilnctl.logbook.writer import Logbook
from kilnctl.marks import running_ovens

Out = pytest.CaptureFixture[str]


def test_runs_are_listed_and_marked(folder: Path, capsys: Out) -> None:
    assert kilnctl(["runs"]) == 0
    text = capsys.readouterr().out
    assert max(map(len, text.splitlines())) <= 80
    broken, real, simulated = re.split(r"\n(?=   \d)", text)
    assert "INCOMPLETE (no end was recorded)" in broken
    assert "SIMULATED" in simulated
    assert "SIMULATED" not in real
    assert kilnctl(["runs", "--steel", "1095", "--json"]) == 0
    (found,) = json.loads(capsys.readouterr().out)["runs"]
    assert (found["run"], found["complete"], found["part"]) == (3, False, "knife 1")
    assert kilnctl(["runs", "--steel", "unobtainium"]) == 0
    assert capsys.readouterr().out.strip() == "no such run"


def test_a_run_that_is_going_on_is_not_called_broken(folder: Path, capsys: Out) -> None:
    from datetime import UTC, datetime

    now_utc = datetime.now(UTC).timestamp()
    with Logbook(folder / "zu hause ü" / "logbook.sqlite") as book:
        run = book.start_run(header(started_utc=now_utc - 20, simulated=False))
        book.append(run, [s._replace(utc_s=now_utc - 20 + s.elapsed_s) for s in samples(20)], [])
    running_ovens.mark("tempering-oven", (bundled("ovens") / "tempering-oven.toml").read_text("utf-8"))
    assert kilnctl(["runs", "--limit", "1"]) == 0
    said = capsys.readouterr().out
    assert "running" in said
    assert "INCOMPLETE" not in said


def test_a_backup_comes_back(folder: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch) -> None:
    assert kilnctl(["export", "--all", "--out", str(folder / "alles.sqlite")]) == 0
    monkeypatch.setenv("KILNCTL_HOME", str(folder / "new"))
    assert kilnctl(["import", str(folder / "alles.sqlite")]) == 0
    assert "runs 3" in capsys.readouterr().out
    assert kilnctl(["verify"]) == 0


def test_runs_are_compared(folder: Path, capsys: Out) -> None:
    out = folder / "both.png"
    assert kilnctl(["compare", "1", "2", "--out", str(out)]) == 0
    assert re.search(r"soak .* same +\+5.0 °C +\+5.0 °C", capsys.readouterr().out)
    assert out.stat().st_size > 1000
    assert kilnctl(["compare", "1", "1", "--json"]) == 0
    (less,) = json.loads(capsys.readouterr().out)["less"]
    assert less["segments"][1]["mean_k"] == 0.0


@pytest.mark.parametrize(
    "words",
    [
        ["runs", "--since", "yesterday"],
        ["export", "1", "--out", "/nowhere/at/all.csv"],
        ["export", "1", "--out", "x.docx"],
        ["export", "--out", "x.csv"],
        ["export", "99", "--out", "x.csv"],
        ["compare", "1"],
        ["compare", "1", "99"],
        ["part", "nobody"],
        ["part", "test", "p", "--files", "soft"],
        ["part", "test", "p", "--readings", "hard"],
        ["part", "bow", "p", "2 mm"],
        ["part", "bow", "p", "2", "--side", "left"],
        ["verify", "99"],
        ["verify", "0000-0000-0000-0000"],
        ["verify", "nothing"],
        ["verify", "missing.csv"],
        ["import", "run.csv"],
        ["import", "missing.json"],
        ["import", "missing.sqlite"],
    ],
)
def test_bad_input_is_one_line_and_an_exit_code(folder: Path, capsys: Out, words: list[str]) -> None:
    assert kilnctl(words) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert len(told.err.strip().splitlines()) == 1
    assert "Traceback" not in told.err


def test_without_a_logbook_there_is_a_word_and_no_file(
    tmp_path: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    assert kilnctl(["runs"]) == 2
    assert "the first run makes one" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_a_file_of_a_newer_program_is_read_with_a_word(folder: Path, capsys: Out) -> None:
    with Logbook(folder / "zu hause ü" / "logbook.sqlite") as book:
        book.connection.execute("PRAGMA user_version = 99")
    assert kilnctl(["runs"]) == 0
    told = capsys.readouterr()
    assert "knife 1" in told.out
    assert "newer kilnctl" in told.err
    assert kilnctl(["part", "note", "gouge 7", "x"]) == 2
