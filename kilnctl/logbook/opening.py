"""Opening a logbook file: made where it is missing, brought up to date where it is older."""

import os
import sqlite3
from pathlib import Path

from kilnctl.errors import RecordError
from kilnctl.logbook.schema import UNREADABLE, VERSION, migrate, reason_of, version_of

# How long a writer waits for another one (a hardness typed in at the same moment) before it says "locked".
LOCK_WAIT_S = 2.0


def connect(path: Path | None) -> sqlite3.Connection:
    """Open a logbook for writing, its tables at this version; None keeps it in memory. Raises RecordError."""
    where = str(path) if path is not None else ":memory:"
    try:
        if path is not None and not path.exists():
            os.close(os.open(path, os.O_CREAT | os.O_WRONLY, 0o600))
        db = sqlite3.connect(where, timeout=LOCK_WAIT_S, isolation_level=None, check_same_thread=False)
        try:
            _make_ready(db, path)
        except BaseException:
            db.close()
            raise
    except (*UNREADABLE, OSError) as e:
        why = e.strerror if isinstance(e, OSError) else reason_of(e)
        raise RecordError(f"{where}: the logbook cannot be written: {why}; is its folder yours?") from None
    return db


def _make_ready(db: sqlite3.Connection, path: Path | None) -> None:
    """Bring the tables to this version and keep the file as it was; refuse those of a newer program."""
    known = version_of(db)
    if known > VERSION or known < 0:
        raise RecordError(newer_words(path, known) if known > 0 else f"{path}: its tables are damaged")
    if path is not None and 0 < known < VERSION:
        _keep_copy(db, path, known)
    db.execute("PRAGMA journal_mode=WAL")
    db.execute("PRAGMA synchronous=FULL")
    migrate(db)


def _keep_copy(db: sqlite3.Connection, path: Path, known: int) -> None:
    """Keep the file as it was before a newer program changes its tables; an earlier copy stays."""
    copy = path.with_name(f"{path.stem}.version-{known}{path.suffix}")
    if copy.exists():
        return
    part = copy.with_name(f"{copy.name}.part")
    other = sqlite3.connect(part)
    try:
        db.backup(other)
    finally:
        other.close()
    part.chmod(0o600)
    part.replace(copy)


def newer_words(path: Path | None, version: int) -> str:
    """Say that a file comes from a newer program."""
    return (
        f"{path}: written by a newer kilnctl (version {version} of the file, this program knows {VERSION}); "
        "it can be read but not written: install the newer program"
    )


def looked_into(where: str) -> tuple[sqlite3.Connection, int]:
    """Return a file opened, and the version of its tables; closed again where it cannot be read."""
    db = sqlite3.connect(where, uri=True, timeout=2.0, check_same_thread=False)
    try:
        return db, version_of(db)
    except BaseException:
        db.close()
        raise
