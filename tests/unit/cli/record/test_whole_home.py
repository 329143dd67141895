"""Everything in one archive, and back from one that others made."""

import zipfile
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from kilnctl.cli.main import run as kilnctl
from kilnctl.cli.record.whole_home import unpack

Out = pytest.CaptureFixture[str]


def test_everything_goes_to_another_home_and_nothing_is_overwritten(
    folder: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    old, new, whole = folder / "zu hause ü", folder / "new", folder / "all.backup"
    for place in ("ovens/mine.toml", "recipes/mine.toml", "steels/W1.toml"):
        (old / place).parent.mkdir(exist_ok=True)
        (old / place).write_text("mine")
    (old / "messages.toml").write_text("a key")
    assert kilnctl(["export", "--all", "--out", str(whole)]) == 0
    assert "steel cards: 3" in capsys.readouterr().out
    monkeypatch.setenv("KILNCTL_HOME", str(new))
    (new / "recipes").mkdir(parents=True)
    (new / "recipes" / "mine.toml").write_text("another")
    assert kilnctl(["import", str(whole)]) == 0
    assert "saved beside it as mine.toml.imported" in capsys.readouterr().out
    assert (new / "ovens" / "mine.toml").read_text() == "mine"
    assert (new / "recipes" / "mine.toml").read_text() == "another"
    assert not (new / "messages.toml").exists()
    assert kilnctl(["verify"]) == 0
    assert kilnctl(["import", str(whole)]) == 0
    assert "runs 0, entries 0" in capsys.readouterr().out


def test_a_workshop_moves_before_its_first_heat(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = tmp_path / "all.zip"
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path / "old"))
    assert kilnctl(["export", "--all", "--out", str(whole)]) != 0  # nothing is there at all
    (tmp_path / "old" / "ovens").mkdir(parents=True)
    (tmp_path / "old" / "ovens" / "mine.toml").write_text("mine")
    assert kilnctl(["export", "--all", "--out", str(whole)]) == 0
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path / "new"))
    assert kilnctl(["import", str(whole)]) == 0
    assert (tmp_path / "new" / "ovens" / "mine.toml").read_text() == "mine"


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


def test_the_power_goes_while_a_file_is_laid_down_and_no_half_oven_file_is_left(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    old, new, whole = folder / "zu hause ü", folder / "new", folder / "all.backup"
    (old / "ovens").mkdir(exist_ok=True)
    (old / "ovens" / "mine.toml").write_text("name = 'mine'\n")
    assert kilnctl(["export", "--all", "--out", str(whole)]) == 0
    monkeypatch.setenv("KILNCTL_HOME", str(new))
    write = Path.write_bytes

    def half(path: Path, data: bytes) -> int:
        write(path, data[: len(data) // 2])
        raise SystemExit

    monkeypatch.setattr(Path, "write_bytes", half)
    with pytest.raises(SystemExit):
        unpack(whole, lambda _: None)
    monkeypatch.undo()
    assert not list((new / "ovens").glob("*.toml"))
    monkeypatch.setenv("KILNCTL_HOME", str(new))
    assert kilnctl(["import", str(whole)]) == 0
    assert [path.name for path in (new / "ovens").iterdir()] == ["mine.toml"]
