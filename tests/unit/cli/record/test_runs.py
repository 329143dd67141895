"""The commands about the record, as a user types them: what they print and with which exit code they end."""

import json
import re
import shutil
import zipfile
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from heats import header, one_run, ruled_run, samples

from kilnctl.cli.main import run as kilnctl
from kilnctl.logbook.writer import Logbook


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A logbook of three runs, written once; every test works on a copy."""
    path = tmp_path_factory.mktemp("written") / "logbook.sqlite"
    with Logbook(path) as book:
        ruled_run(book)
        ruled_run(book, hot_k=5.0, simulated=False)
        one_run(book, 30, end=False, steel="1095", part="knife 1")
    return path


@pytest.fixture
def folder(written: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path / "zu hause ü"))
    shutil.copytree(written.parent, tmp_path / "zu hause ü")
    return tmp_path


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
    assert kilnctl(["runs", "--limit", "1"]) == 0
    said = capsys.readouterr().out
    assert "running" in said
    assert "INCOMPLETE" not in said


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


def test_verify_says_what_it_found_by_word_and_exit_code(folder: Path, capsys: Out) -> None:
    assert kilnctl(["verify", "1", "--json"]) == 0
    short = json.loads(capsys.readouterr().out)["hash"]
    assert kilnctl(["verify", "1", "--hash", short.upper()]) == 0
    assert "the printed hash matches" in capsys.readouterr().out
    assert kilnctl(["verify", "2", "--hash", short]) == 6
    assert "is not that of this record" in capsys.readouterr().out
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


def test_a_backup_comes_back(folder: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch) -> None:
    assert kilnctl(["export", "--all", "--out", str(folder / "alles.sqlite")]) == 0
    monkeypatch.setenv("KILNCTL_HOME", str(folder / "new"))
    assert kilnctl(["import", str(folder / "alles.sqlite")]) == 0
    assert "3 runs" in capsys.readouterr().out
    assert kilnctl(["verify"]) == 0


def test_everything_goes_to_another_home_and_nothing_is_overwritten(
    folder: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    old, new, whole = folder / "zu hause ü", folder / "new", folder / "all.backup"
    for place in ("ovens/mine.toml", "recipes/mine.toml", "steels/W1.toml"):
        (old / place).parent.mkdir(exist_ok=True)
        (old / place).write_text("mine")
    (old / "messages.toml").write_text("a key")
    assert kilnctl(["export", "--all", "--out", str(whole)]) == 0
    assert "3 files" in capsys.readouterr().out
    monkeypatch.setenv("KILNCTL_HOME", str(new))
    (new / "recipes").mkdir(parents=True)
    (new / "recipes" / "mine.toml").write_text("another")
    assert kilnctl(["import", str(whole)]) == 0
    assert "laid beside it as mine.toml.imported" in capsys.readouterr().out
    assert (new / "ovens" / "mine.toml").read_text() == "mine"
    assert (new / "recipes" / "mine.toml").read_text() == "another"
    assert not (new / "messages.toml").exists()
    assert kilnctl(["verify"]) == 0
    assert kilnctl(["import", str(whole)]) == 0
    assert "0 runs and 0 entries" in capsys.readouterr().out


@pytest.mark.parametrize("name", ["../evil.toml", "ovens/../../evil.toml", "/tmp/evil.toml", "ovens/.x.toml"])
def test_a_backup_lays_nothing_outside_its_folders(folder: Path, name: str) -> None:
    whole = folder / "all.zip"
    assert kilnctl(["export", "--all", "--out", str(whole)]) == 0
    with zipfile.ZipFile(whole, "a") as archive:
        archive.writestr(name, "evil")
    assert kilnctl(["import", str(whole)]) == 0
    assert not [path for path in folder.rglob("*.toml") if path.read_text() == "evil"]


def test_a_torn_backup_is_one_line(folder: Path, capsys: Out) -> None:
    whole = folder / "all.zip"
    assert kilnctl(["export", "--all", "--out", str(whole)]) == 0
    whole.write_bytes(whole.read_bytes()[:3000])
    capsys.readouterr()
    assert kilnctl(["import", str(whole)]) == 2
    assert capsys.readouterr().err.count("\n") == 1


def _marked(data: bytes, sign: bytes, at: int, value: int) -> bytes:
    """Return an archive with one byte of every header of a kind changed (APPNOTE.TXT 4.3, zip files)."""
    parts = data.split(sign)
    return sign.join([parts[0], *(p[: at - 4] + bytes([value]) + p[at - 3 :] for p in parts[1:])])


HOSTILE = {
    "encrypted": lambda data: _marked(_marked(data, b"PK\3\4", 6, 1), b"PK\1\2", 8, 1),
    "packed in a way that nobody knows": lambda data: _marked(data, b"PK\1\2", 10, 99),
    "damaged inside": lambda data: data[:80] + b"\xff" * 40 + data[120:],
    "deep": lambda data: b"[" * 200_000,
    "no logbook": lambda data: b"SQLite format 3\0" + bytes(4000),
}


@pytest.mark.parametrize("spoilt", HOSTILE.values(), ids=HOSTILE)
def test_an_archive_from_hostile_hands_is_one_line(folder: Path, capsys: Out, spoilt: Any) -> None:
    whole = folder / "all.zip"
    assert kilnctl(["export", "--all", "--out", str(whole)]) == 0
    whole.write_bytes(spoilt(whole.read_bytes()))
    capsys.readouterr()
    assert kilnctl(["import", str(whole)]) in (2, 6)
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "fault of kilnctl" not in said


def test_an_archive_that_would_fill_the_disk_is_refused(
    folder: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = folder / "all.zip"
    assert kilnctl(["export", "--all", "--out", str(whole)]) == 0
    monkeypatch.setattr("shutil.disk_usage", lambda _: SimpleNamespace(free=50_000_000))
    assert kilnctl(["import", str(whole)]) == 2
    assert "make room first" in capsys.readouterr().err


def test_names_that_cannot_be_printed_are_left_out(folder: Path, capsys: Out) -> None:
    whole = folder / "all.zip"
    assert kilnctl(["export", "--all", "--out", str(whole)]) == 0
    with zipfile.ZipFile(whole, "a") as archive:
        archive.writestr("ovens/a\x1b[2Jb.toml", "evil")
    assert kilnctl(["import", str(whole)]) == 0
    assert "\x1b" not in capsys.readouterr().out
    assert not list((folder / "ovens").glob("a*b.toml"))


def test_runs_are_compared(folder: Path, capsys: Out) -> None:
    out = folder / "both.png"
    assert kilnctl(["compare", "1", "2", "--out", str(out)]) == 0
    assert re.search(r"soak .* same +\+5.0 °C +\+5.0 °C", capsys.readouterr().out)
    assert out.stat().st_size > 1000
    assert kilnctl(["compare", "1", "1", "--json"]) == 0
    (less,) = json.loads(capsys.readouterr().out)["less"]
    assert less["segments"][1]["mean_k"] == 0.0


def test_a_part_tells_its_story_and_takes_what_was_measured(folder: Path, capsys: Out) -> None:
    name = "gouge 7"
    assert kilnctl(["part", "describe", name, "--steel", "O1", "--section", "4 mm"]) == 0
    assert kilnctl(["part", "bow", name, "1.2 mm", "--side", "left", "--run", "2"]) == 0
    tester = ["--readings", "58.1, 58.4, 57.7", "--block", "60.0 reads 60.9", "--bare-metal"]
    assert kilnctl(["part", "test", name, "--run", "2", *tester]) == 0
    assert kilnctl(["part", "note", name, "left the shop"]) == 0
    assert kilnctl(["part", "describe", name, "--bar", "bar 12", "--position", "front left"]) == 0
    capsys.readouterr()
    assert kilnctl(["part", name]) == 0
    said = capsys.readouterr().out
    for word in (
        "run 1",
        "run 2",
        "block-corrected 57.2",
        "1.2 mm to the left",
        "left the shop",
        "O1, bar 12, 4 mm, front left in the load",
    ):
        assert word in said


def test_an_oven_is_looked_after(folder: Path, capsys: Out) -> None:
    oven, care = "tempering-oven", "care"
    points = ["--low", "100.5 C is 100.0 C", "--high", "222 C is 220 C", "--left", "220.2 C is 220 C"]
    assert kilnctl([care, "calibrate", oven, "process", *points, "--reference", "ref"]) == 0
    said = capsys.readouterr().out
    assert "corrected = 0.98765 x reading +0.741 C" in said  # 120 / 121.5, by hand
    assert "process: as found -2.0 K" in said
    places = ["a = 216.1 C", "b = 219.4 C", "c=220.8 C", "d = 219 C", "e = 217.2 C"]
    at = [word for place in places for word in ("--at", place)]
    assert kilnctl([care, "survey", oven, "218 C", *at]) == 0
    assert "-1.9/+2.8 K: inside ±3 K" in capsys.readouterr().out
    counted = ["--counter", "quenches", "--limit", "2"]
    assert kilnctl([care, "remind", "oil tank", "change the oil", *counted]) == 0
    assert kilnctl([care, "count", "oil tank", "quenches", "--by", "2"]) == 0
    assert "OVERDUE  change the oil: quenches 2 of 2" in capsys.readouterr().out
    assert kilnctl(["runs", "--due"]) == 0
    assert "OVERDUE oil tank" in " ".join(capsys.readouterr().out.split())
    assert kilnctl([care, "done", "oil tank", "quenches"]) == 0
    assert kilnctl([care, "due", "oil tank"]) == 0
    assert "OVERDUE" not in capsys.readouterr().out
    assert kilnctl([care, "ageing", oven, "--volts", "228"]) == 0
    assert "nothing to compare yet" in capsys.readouterr().out


def test_a_mistyped_oven_keeps_no_survey(folder: Path, capsys: Out) -> None:
    at = [word for place in "abcde" for word in ("--at", f"{place} = 216 C")]
    assert kilnctl(["care", "survey", "tempring-oven", "218 C", *at]) == 2
    assert "tempering-oven" in capsys.readouterr().err


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
