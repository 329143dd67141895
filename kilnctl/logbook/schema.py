"""The tables of the logbook and how an older file becomes the present one. Nothing is ever deleted.

Rows of one run lie together: their key is the run's number times 2**32 plus their place in the run.
"""

import sqlite3
from dataclasses import astuple

from kilnctl.logbook.counters import COUNT_COLUMNS, Counts, counts_of, read_ints

RUN_SPAN = 2**32
# What a damaged file raises: the library cannot even decode its own message where that quotes the damage.
UNREADABLE = (sqlite3.Error, UnicodeDecodeError)


def reason_of(error: Exception) -> str:
    """Return in words, one line of them, what a file raised."""
    return " ".join(str(error).split()) if isinstance(error, sqlite3.Error) else "its tables are damaged"


_VERSION_1 = """
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
"""

_VERSION_2 = """
ALTER TABLE run ADD COLUMN imported INTEGER NOT NULL DEFAULT 0;
ALTER TABLE run ADD COLUMN element_s REAL;
ALTER TABLE run ADD COLUMN closures INTEGER;
ALTER TABLE run ADD COLUMN over_700_s REAL;
ALTER TABLE run ADD COLUMN over_800_s REAL;
ALTER TABLE run ADD COLUMN energy_kwh REAL;
ALTER TABLE run ADD COLUMN peak_c REAL;
CREATE INDEX run_part ON run (part) WHERE part <> '';
"""

# One step per version, applied in order; never edit one that has been released.
MIGRATIONS = (_VERSION_1, _VERSION_2)
VERSION = len(MIGRATIONS)
COUNTED_SINCE = 2


def version_of(db: sqlite3.Connection) -> int:
    """Return the version of an open logbook; 0 for a file without tables."""
    return int(db.execute("PRAGMA user_version").fetchone()[0])


def migrate(db: sqlite3.Connection) -> None:
    """Bring an open logbook to the present version, step by step, each in one transaction."""
    older = version_of(db)
    while version_of(db) < VERSION:
        _step(db)
    if 0 < older < COUNTED_SINCE:
        _count_old_runs(db)


def _step(db: sqlite3.Connection) -> None:
    """Do the next step. The version is read again inside: another process may have been faster."""
    db.execute("BEGIN IMMEDIATE")
    number = version_of(db)
    if number < VERSION:
        for statement in MIGRATIONS[number].split(";"):
            db.execute(statement)
        db.execute(f"PRAGMA user_version = {number + 1}")
    db.execute("COMMIT")


def _count_old_runs(db: sqlite3.Connection) -> None:
    """Fill in what runs of an older file used up, one transaction a run."""
    for (run,) in db.execute("SELECT id FROM run WHERE outcome IS NOT NULL AND element_s IS NULL").fetchall():
        put_counts(db, run, counts_of(read_ints(db, run * RUN_SPAN, (run + 1) * RUN_SPAN)))


def put_counts(db: sqlite3.Connection, run: int, counts: Counts) -> None:
    """Write what a run used up beside it."""
    names = ", ".join(f"{name}=?" for name in COUNT_COLUMNS)
    db.execute(f"UPDATE run SET {names} WHERE id=?", (*astuple(counts), run))
