"""What is told of a file or a logbook that was changed."""

import json
from pathlib import Path

import pytest

from kilnctl.cli.main import run as kilnctl
from kilnctl.logbook.writer import Logbook

Out = pytest.CaptureFixture[str]


def test_verify_says_what_it_found_by_word_and_exit_code(folder: Path, capsys: Out) -> None:
    assert kilnctl(["verify", "1", "--json"]) == 0
    short = json.loads(capsys.readouterr().out)["hash"]
    assert kilnctl(["verify", "1", "--hash", short.upper()]) == 0
    assert "the printed hash matches" in capsys.readouterr().out
    assert kilnctl(["verify", "2", "--hash", short]) == 6
    assert "does not belong to this record" in capsys.readouterr().out
    assert kilnctl(["verify", short]) == 0
    assert kilnctl(["verify", "3"]) == 6
    assert "INCOMPLETE: no end was recorded" in capsys.readouterr().out
    assert kilnctl(["verify"]) == 0
    assert "3 runs: unchanged" in capsys.readouterr().out


def test_a_changed_export_is_found(folder: Path, capsys: Out) -> None:
    for kind in ("csv", "json"):
        out = folder / f"run.{kind}"
        assert kilnctl(["export", "1", "--out", str(out)]) == 0
        assert kilnctl(["verify", str(out)]) == 0
        text = out.read_text()
        assert "218.000" in text or "218.0" in text
        place = text.rindex("218.0")
        out.write_text(text[:place] + "219.0" + text[place + 5 :])
        capsys.readouterr()
        assert kilnctl(["verify", str(out)]) == 6
        assert "changed" in capsys.readouterr().out


def test_a_logbook_that_was_changed_is_found(folder: Path, capsys: Out) -> None:
    with Logbook(folder / "zu hause ü" / "logbook.sqlite") as book:
        book.connection.execute("UPDATE run SET outcome='tripped' WHERE id=2")
    assert kilnctl(["verify"]) == 6
    assert "run 2: the end" in capsys.readouterr().out
