"""A file is whole or as it was before: what a cut in mid-write leaves."""

from pathlib import Path

import pytest

from kilnctl.marks import durable_write


def test_a_file_is_replaced_and_no_draft_stays(tmp_path: Path) -> None:
    path = tmp_path / "mark.json"
    durable_write.write(path, "one")
    durable_write.write(path, "two")
    assert path.read_text(encoding="utf-8") == "two"
    assert [file.name for file in tmp_path.iterdir()] == ["mark.json"]


def test_what_cannot_be_finished_leaves_the_old_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "mark.json"
    durable_write.write(path, "one")

    def full(_descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(OSError, match="space"):
        durable_write.write(path, "two")
    assert path.read_text(encoding="utf-8") == "one"


def test_lines_are_added_at_the_end(tmp_path: Path) -> None:
    path = tmp_path / "log"
    durable_write.append(path, "one")
    durable_write.append(path, "two")
    assert path.read_text(encoding="utf-8") == "one\ntwo\n"
