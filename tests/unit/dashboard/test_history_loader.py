"""The curve from the logbook: all samples, the persons' events, and what is said where it cannot be read."""

import sqlite3
from pathlib import Path

import numpy as np
import pytest
from heats import START_UTC, a_book, header, samples

from kilnctl.dashboard import history_loader
from kilnctl.errors import RecordError
from kilnctl.logbook.records import Event


def test_ten_thousand_samples_come_as_they_were_written(tmp_path: Path) -> None:
    written = samples(10_000)
    with a_book(tmp_path) as book:
        run = book.start_run(header())
        answered = Event(5.0, START_UTC + 5, "answer", "answer by pts/1", {})
        book.append(run, written, [answered, Event(6.0, START_UTC + 6, "segment", "soak", {})])
    found = history_loader.load(tmp_path / "logbook.sqlite", run)
    assert np.allclose(found.rows[0], [s.elapsed_s for s in written], atol=1e-3)
    expected = np.array([np.nan if s.process_c is None else s.process_c for s in written])
    assert np.allclose(found.rows[1], expected, atol=0.006, equal_nan=True)
    assert found.events == [(5.0, "answer by pts/1")]


def test_the_reasons_of_the_plan_come_with_the_curve(tmp_path: Path) -> None:
    profile = """name = "p"\n[[segment]]\nkind = "ramp"\n[[segment]]\nkind = "soak"\nreason = "equalise"\n"""
    found = []
    with a_book(tmp_path) as book:
        for text in (profile, "no profile", ""):
            run = book.start_run(header(profile=text))
            found.append(history_loader.load(tmp_path / "logbook.sqlite", run).reasons)
            book.finish(run, "complete", {"cause": ""}, START_UTC)
    assert found == [("", "equalise"), (), ()]


def test_a_run_that_has_just_begun_has_no_past(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        run = book.start_run(header())
    assert history_loader.load(tmp_path / "logbook.sqlite", run).rows.shape == (4, 0)


def test_without_a_logbook_there_is_a_clear_line(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="no logbook here yet"):
        history_loader.load(tmp_path / "logbook.sqlite", 1)


def test_a_logbook_of_a_newer_kilnctl_is_a_clear_line_where_it_cannot_be_read(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        run = book.start_run(header())
    with sqlite3.connect(tmp_path / "logbook.sqlite") as db:
        db.execute("PRAGMA user_version = 999")
        db.execute("ALTER TABLE block RENAME TO something_new")
    db.close()
    with pytest.raises(RecordError, match="cannot be read"):
        history_loader.load(tmp_path / "logbook.sqlite", run)
