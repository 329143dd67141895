"""Logbooks of other versions: older ones are brought up to date, newer ones are read and never written."""

import contextlib
import sqlite3
from pathlib import Path

import pytest
from heats import START_UTC, a_book, events, header, one_run, samples

from kilnctl.errors import RecordError
from kilnctl.logbook import blocks
from kilnctl.logbook.counters import counts_of
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.records import canonical, digest, end_text, seal_of
from kilnctl.logbook.schema import RUN_SPAN, VERSION
from kilnctl.logbook.writer import Logbook

# The tables exactly as version 1 made them (commit 06098dd), kept here so that nobody changes the past.
VERSION_1 = """
CREATE TABLE run (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    oven TEXT NOT NULL, profile_name TEXT NOT NULL, recipe TEXT NOT NULL, revision INTEGER NOT NULL,
    steel TEXT NOT NULL, part TEXT NOT NULL, operator TEXT NOT NULL,
    simulated INTEGER NOT NULL, unattended INTEGER NOT NULL, started_utc REAL NOT NULL,
    outcome TEXT, cause TEXT, ended_utc REAL, duration_s REAL, samples INTEGER, events INTEGER,
    gaps INTEGER, lost INTEGER, header_hash BLOB NOT NULL, seal BLOB, summary TEXT, header TEXT NOT NULL
);
CREATE INDEX run_started ON run (started_utc);
CREATE TABLE block (
    id INTEGER PRIMARY KEY, count INTEGER NOT NULL, first_s REAL NOT NULL, last_s REAL NOT NULL,
    checks BLOB NOT NULL, hash BLOB NOT NULL, data BLOB NOT NULL
);
CREATE TABLE event (
    id INTEGER PRIMARY KEY, at_s REAL NOT NULL, utc_s REAL NOT NULL,
    kind TEXT NOT NULL, text TEXT NOT NULL, data TEXT NOT NULL, hash BLOB NOT NULL
);
CREATE TABLE entry (
    id INTEGER PRIMARY KEY AUTOINCREMENT, kind TEXT NOT NULL, subject TEXT NOT NULL, run INTEGER,
    utc_s REAL NOT NULL, corrects INTEGER, data TEXT NOT NULL, hash BLOB NOT NULL
);
CREATE INDEX entry_subject ON entry (kind, subject);
CREATE INDEX entry_run ON entry (run) WHERE run IS NOT NULL;
PRAGMA user_version = 1;
"""


def _older_file(path: Path) -> None:
    """Write a version 1 file with one finished and one broken run, with plain SQL."""
    db = sqlite3.connect(path)
    db.executescript(VERSION_1)
    for run, ended in ((1, True), (2, False)):
        text = header(started_utc=START_UTC + run).text()
        base = digest(b"", text)
        ints, made = blocks.to_ints(samples(50)), events(1)[0]
        tip = blocks.link(digest(base, "samples"), 0, ints)
        chain = made.link(digest(base, "events"), 0)
        end = end_text("complete", START_UTC + 50, 49.0, 0, 0, {"cause": ""})
        seal = seal_of(base, 50, tip, 1, chain, end)
        known = ("tempering-oven", "gouge temper", "", 1, "O1", "gouge 7", "", 1, 0, START_UTC + run)
        tail = ("complete", "", START_UTC + 50, 49.0, 50, 1, 0, 0) if ended else (None,) * 8
        last = (base, seal, canonical({"cause": ""}), text) if ended else (base, None, None, text)
        db.execute(f"INSERT INTO run VALUES ({','.join('?' * 23)})", (run, *known, *tail, *last))
        block = (run * RUN_SPAN, 50, 0.0, 49.0, blocks.row_checks(ints), tip, blocks.pack(ints))
        db.execute("INSERT INTO block VALUES (?,?,?,?,?,?,?)", block)
        row = (run * RUN_SPAN, made.at_s, made.utc_s, made.kind, made.text, canonical(made.data), chain)
        db.execute("INSERT INTO event VALUES (?,?,?,?,?,?,?)", row)
    db.commit()
    db.close()


def test_an_older_file_is_brought_up_to_date_and_loses_nothing(tmp_path: Path) -> None:
    path = tmp_path / "logbook.sqlite"
    _older_file(path)
    with Logbook(path) as book:
        reader = Reader(book.connection)
        assert book.connection.execute("PRAGMA user_version").fetchone()[0] == VERSION
        assert book.verify(1).complete
        assert book.verify(2).chain_holds
        assert [info.run for info in reader.runs()] == [2, 1]
        known = counts_of(reader.curve(1).ints)
        assert reader.run(1).element_s == known.element_s > 0
        book.append(2, samples(10, start_s=50.0), [])
        book.finish(2, "complete", {}, START_UTC)
        assert book.verify(2).samples == 60
    with Logbook(path) as book:  # a second time nothing is left to do
        assert len(Reader(book.connection).runs()) == 2


def test_an_older_file_can_be_read_at_once_and_is_kept_as_it_was(tmp_path: Path) -> None:
    """Seen to fail by hand with a home that the program of 25 November had written: no such column."""
    path = tmp_path / "logbook.sqlite"
    _older_file(path)
    with Reader(path) as reader:
        assert [info.run for info in reader.runs()] == [2, 1]
        assert reader.verify(1).complete
    with contextlib.closing(sqlite3.connect(tmp_path / "logbook.version-1.sqlite")) as copy:
        assert copy.execute("PRAGMA user_version").fetchone() == (1,)


def test_every_step_of_the_tables_is_taken_from_an_empty_file(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        assert book.connection.execute("PRAGMA user_version").fetchone()[0] == VERSION
        assert book.connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"


def test_a_newer_file_is_read_but_not_written(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        one_run(book)
        book.connection.execute(f"PRAGMA user_version = {VERSION + 3}")
    path = tmp_path / "logbook.sqlite"
    with pytest.raises(RecordError, match="newer kilnctl") as e:
        Logbook(path)
    assert "\n" not in str(e.value)
    with Reader(path) as reader:
        assert reader.newer
        assert reader.run(1).complete
        assert reader.verify(1).chain_holds


def test_two_programs_may_make_the_file_at_the_same_moment(tmp_path: Path) -> None:
    path = tmp_path / "logbook.sqlite"
    with Logbook(path) as one, Logbook(path) as other:
        assert one_run(one, 10) != one_run(other, 10)
        assert len(Reader(one.connection).runs()) == 2
