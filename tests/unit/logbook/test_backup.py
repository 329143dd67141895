"""A backup is a logbook, and comes back as one; runs that travel alone keep their chain."""

import contextlib
import sqlite3
from pathlib import Path

import numpy as np
import pytest
from heats import START_UTC, a_book, header, one_run, samples

from kilnctl.errors import RecordError
from kilnctl.logbook import entries
from kilnctl.logbook.backup import back_up, restore
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.restore import archive_run, restore_run
from kilnctl.logbook.schema import MIGRATIONS
from kilnctl.logbook.writer import Logbook


def _full_book(folder: Path) -> Logbook:
    book = a_book(folder)
    for count, end in ((200, True), (95, False), (10, True)):
        one_run(book, count, end)
    wrong = entries.add(book, entries.PartEntry("gouge 7", "5160"), START_UTC)
    entries.add(book, entries.PartEntry("gouge 7", "O1"), START_UTC + 1, corrects=wrong)
    entries.add(book, entries.Note("gouge 7", "sent"), START_UTC + 2, run=2)
    return book


def test_a_backup_restores_everything_with_its_numbers(tmp_path: Path) -> None:
    copy = tmp_path / "kopie.sqlite"
    with _full_book(tmp_path) as book:
        back_up(tmp_path / "logbook.sqlite", copy)
        before = Reader(book.connection)
        with Logbook(tmp_path / "new.sqlite") as new:
            assert restore(new, copy) == (3, 3)
            after = Reader(new.connection)
            assert [r.seal for r in after.runs()] == [r.seal for r in before.runs()]
            assert [r.run for r in after.runs()] == [3, 2, 1]
            assert after.entries() == before.entries()
            assert after.verify_all().whole
            for run in (1, 2, 3):
                assert np.array_equal(after.curve(run).ints, before.curve(run).ints)
                assert after.events(run) == before.events(run)
                assert after.header(run) == before.header(run)
                assert new.verify(run).short == book.verify(run).short
            assert restore(new, copy) == (0, 0)


def test_a_backup_joins_a_logbook_that_went_on(tmp_path: Path) -> None:
    copy = tmp_path / "copy.sqlite"
    with _full_book(tmp_path):
        back_up(tmp_path / "logbook.sqlite", copy)
    with Logbook(tmp_path / "other.sqlite") as other:
        own = one_run(other, 50, started_utc=START_UTC + 9999)
        assert restore(other, copy) == (3, 3)
        reader = Reader(other.connection)
        assert len(reader.runs()) == 4
        assert reader.run(own).seal is not None
        assert reader.verify_all().whole
        (note,) = [e for e in reader.entries("note")]
        assert note.run is not None
        assert len(reader.curve(note.run)) == 95  # the note still belongs to the run it was written about


def test_a_backup_overwrites_nothing(tmp_path: Path) -> None:
    with _full_book(tmp_path):
        copy = tmp_path / "copy.sqlite"
        copy.write_text("something of mine")
        with pytest.raises(RecordError, match="overwrites nothing"):
            back_up(tmp_path / "logbook.sqlite", copy)
        assert copy.read_text() == "something of mine"


def test_a_backup_that_cannot_be_written_leaves_nothing_behind(tmp_path: Path) -> None:
    with _full_book(tmp_path), pytest.raises(RecordError, match="could not be written"):
        back_up(tmp_path / "logbook.sqlite", tmp_path / "nowhere" / "copy.sqlite")
    assert not list(tmp_path.glob("*.part"))


def test_a_run_that_travels_keeps_its_chain_and_is_taken_once(tmp_path: Path) -> None:
    with _full_book(tmp_path) as book, Logbook(None) as other:
        archive = archive_run(Reader(book.connection), 1)
        run = restore_run(other, archive)
        assert other.verify(run).value == book.verify(1).value
        with pytest.raises(RecordError, match="already"):
            restore_run(other, archive)


def test_a_broken_run_that_travels_stays_incomplete(tmp_path: Path) -> None:
    with _full_book(tmp_path) as book, Logbook(None) as other:
        run = restore_run(other, archive_run(Reader(book.connection), 2))
        verdict = other.verify(run)
        assert verdict.chain_holds
        assert not verdict.complete


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
