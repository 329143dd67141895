"""What comes back from a backup."""

from pathlib import Path

import numpy as np
import pytest
from heats import START_UTC, a_full_book, one_run

from kilnctl.errors import RecordError
from kilnctl.logbook.backup import back_up, restore
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.restore import archive_run, restore_run
from kilnctl.logbook.writer import Logbook


def test_a_backup_restores_everything_with_its_numbers(tmp_path: Path) -> None:
    copy = tmp_path / "kopie.sqlite"
    with a_full_book(tmp_path) as book:
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
    with a_full_book(tmp_path):
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


def test_a_run_that_travels_keeps_its_chain_and_is_taken_once(tmp_path: Path) -> None:
    with a_full_book(tmp_path) as book, Logbook(None) as other:
        archive = archive_run(Reader(book.connection), 1)
        run = restore_run(other, archive)
        assert other.verify(run).value == book.verify(1).value
        with pytest.raises(RecordError, match="already"):
            restore_run(other, archive)


def test_a_broken_run_that_travels_stays_incomplete(tmp_path: Path) -> None:
    with a_full_book(tmp_path) as book, Logbook(None) as other:
        run = restore_run(other, archive_run(Reader(book.connection), 2))
        verdict = other.verify(run)
        assert verdict.chain_holds
        assert not verdict.complete
