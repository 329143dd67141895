"""A backup is a logbook, and comes back as one; runs that travel alone keep their chain."""

import contextlib
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from heats import START_UTC, a_book, a_full_book, header, one_run, samples

from kilnctl.errors import RecordError
from kilnctl.logbook import backup
from kilnctl.logbook.backup import back_up, restore
from kilnctl.logbook.entries import (
    CommissioningStep,
    Hardness,
    LearnedOven,
    OvenChange,
    add,
    in_force,
    newest,
    read,
)
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.schema import MIGRATIONS
from kilnctl.logbook.writer import Logbook


def test_a_backup_overwrites_nothing(tmp_path: Path) -> None:
    with a_full_book(tmp_path):
        copy = tmp_path / "copy.sqlite"
        copy.write_text("something of mine")
        with pytest.raises(RecordError, match="overwrites nothing"):
            back_up(tmp_path / "logbook.sqlite", copy)
        assert copy.read_text() == "something of mine"


def test_a_backup_that_cannot_be_written_leaves_nothing_behind(tmp_path: Path) -> None:
    with a_full_book(tmp_path), pytest.raises(RecordError, match="could not be written"):
        back_up(tmp_path / "logbook.sqlite", tmp_path / "nowhere" / "copy.sqlite")
    assert not list(tmp_path.glob("*.part"))


def test_writing_goes_on_while_a_backup_is_made(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        run = book.start_run(header())
        book.append(run, samples(60), [])
        back_up(tmp_path / "logbook.sqlite", tmp_path / "copy.sqlite")
        book.append(run, samples(60, start_s=60.0), [])
        book.finish(run, "complete", {}, START_UTC)
        assert book.verify(run).complete
    with Reader(tmp_path / "copy.sqlite") as copy:
        assert len(copy.curve(run)) == 60


def test_a_logbook_of_an_older_version_is_kept_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "logbook.sqlite"
    with contextlib.closing(sqlite3.connect(path)) as db:
        for statement in MIGRATIONS[0].split(";"):
            db.execute(statement)
        db.execute("PRAGMA user_version = 1")
        db.execute("CREATE TABLE mark (word TEXT)")
        db.execute("INSERT INTO mark VALUES ('as it was')")
        db.commit()
    with Logbook(path):
        pass
    with contextlib.closing(sqlite3.connect(tmp_path / "logbook.version-1.sqlite")) as copy:
        assert copy.execute("PRAGMA user_version").fetchone() == (1,)
        assert copy.execute("SELECT word FROM mark").fetchone() == ("as it was",)


def step(passed: bool) -> CommissioningStep:
    return CommissioningStep(oven="bench", step="dead-man test", passed=passed)


def test_what_is_older_in_a_backup_says_nothing_against_what_is_newer_here(tmp_path: Path) -> None:
    """Two homes of one oven: what passed in March was taken for newer than what failed in May."""
    (tmp_path / "other").mkdir()
    march, april, may = 1_772_500_000.0, 1_775_200_000.0, 1_777_800_000.0
    with a_book(tmp_path / "other") as other:
        add(other, step(passed=True), march)
        add(other, step(passed=True), april)
    with a_book(tmp_path) as book:
        add(book, step(passed=False), may)
        for _ in range(2):
            restore(book, tmp_path / "other" / "logbook.sqlite")
            found = read(Reader(book.connection), CommissioningStep, "bench")
            assert [one.passed for one in found] == [True, True, False]


@pytest.mark.parametrize("after", [1, 2])
def test_an_import_that_is_killed_leaves_no_entry_without_its_mark(
    after: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The power goes between two entries, or before the mark: what came over counted as the newest."""
    (tmp_path / "other").mkdir()
    with a_book(tmp_path / "other") as other:
        add(other, step(passed=True), START_UTC)
        add(other, step(passed=True), START_UTC + 1.0)
    with a_book(tmp_path) as book:
        add(book, step(passed=False), START_UTC + 2.0)
    put, count = backup.put_entry, 0

    def dies(*entry: Any) -> int:
        nonlocal count
        count += 1
        if count > after:
            raise SystemExit
        return put(*entry)

    monkeypatch.setattr(backup, "put_entry", dies)
    with pytest.raises(SystemExit), a_book(tmp_path) as book:
        restore(book, tmp_path / "other" / "logbook.sqlite")
    monkeypatch.undo()
    with a_book(tmp_path) as book:
        restore(book, tmp_path / "other" / "logbook.sqlite")
        found = read(Reader(book.connection), CommissioningStep, "bench")
        assert [one.passed for one in found] == [True, True, False]


def test_what_is_newer_in_a_backup_counts(tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    with a_book(tmp_path / "other") as other:
        add(other, step(passed=False), START_UTC + 10.0)
    with a_book(tmp_path) as book:
        add(book, step(passed=True), START_UTC)
        restore(book, tmp_path / "other" / "logbook.sqlite")
        row_and_step = newest(Reader(book.connection), CommissioningStep, "bench")
        assert row_and_step is not None
        assert not row_and_step[1].passed


def test_what_an_entry_says_of_a_run_or_a_model_is_said_of_the_same_one_here(tmp_path: Path) -> None:
    """Into a logbook with runs of its own others come with new numbers; a test named a stranger's run."""
    (tmp_path / "other").mkdir()
    with a_book(tmp_path / "other") as other:
        theirs = one_run(other, 20, True, part="gouge 9")
        learned = add(other, LearnedOven("bench", {"made": 2}), START_UTC + 1.0)
        add(other, OvenChange("bench", learned, power=0.9, run=theirs), START_UTC + 2.0)
        add(other, Hardness("gouge 9", "tester", 60.0, 61.0, "60.5 HRC", run=theirs), START_UTC + 3.0)
    with a_full_book(tmp_path) as book:
        for _ in range(2):
            restore(book, tmp_path / "other" / "logbook.sqlite")
            reader = Reader(book.connection)
            [(_, hardness)] = in_force(reader, Hardness, "gouge 9")
            [(row, change)] = in_force(reader, OvenChange, "bench")
            model, _ = newest(reader, LearnedOven, "bench") or (None, None)
            assert reader.run(hardness.run or 0).part == "gouge 9"
            assert model is not None
            assert (change.learned, change.run) == (model.number, row.run) == (model.number, hardness.run)
