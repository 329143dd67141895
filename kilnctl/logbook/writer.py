"""The logbook that is written: one SQLite file, every call durable when it returns.

The newest block of a run is open: it is written anew with each call until it holds a minute, so that a
second is on the disk as soon as it has happened and an old run still costs a few bytes a sample.
"""

import contextlib
import json
import sqlite3
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Self, TypeVar

import numpy as np

from kilnctl.errors import RecordError
from kilnctl.logbook import blocks
from kilnctl.logbook.counters import counts_of, read_ints
from kilnctl.logbook.opening import connect
from kilnctl.logbook.records import Event, RunHeader, canonical, digest, end_text, entry_link, seal_of
from kilnctl.logbook.sample import Sample
from kilnctl.logbook.schema import RUN_SPAN, UNREADABLE, put_counts, reason_of
from kilnctl.logbook.verification import Verification, count_gaps, span, verify_run

__all__ = ["Event", "Logbook", "RunHeader"]

W = TypeVar("W")
OPEN_ROWS = 60


@dataclass(frozen=True, slots=True)
class _Head:
    """Where the chain of one run stands. `closed` is the value before the open block, `tip` after it."""

    header_hash: bytes
    closed: bytes
    tip: bytes
    events_tip: bytes
    first: int
    rows: blocks.Ints
    events: int
    period_s: float | None

    @property
    def samples(self) -> int:
        return self.first + len(self.rows)


def put_entry(
    db: sqlite3.Connection,
    kind: str,
    subject: str,
    data: dict[str, Any],
    utc_s: float,
    run: int | None = None,
    corrects: int | None = None,
) -> int:
    """Add an entry within a transaction and return its number."""
    last = db.execute("SELECT hash FROM entry ORDER BY id DESC LIMIT 1").fetchone()
    text = canonical(data)
    value = entry_link(last[0] if last else b"", kind, subject, run, utc_s, corrects, text)
    cursor = db.execute(
        "INSERT INTO entry (kind, subject, run, utc_s, corrects, data, hash) VALUES (?,?,?,?,?,?,?)",
        (kind, subject, run, utc_s, corrects, text, value),
    )
    return int(cursor.lastrowid or 0)


class Logbook:
    """The one writer of a logbook file; `None` keeps it in memory. Methods may be called from any thread.

    Raises RecordError when the file cannot be opened for writing, was written by a newer program, or a
    line cannot be made durable.
    """

    def __init__(self, path: Path | None) -> None:
        self.path = path
        self._lock = threading.RLock()
        self._heads: dict[int, _Head] = {}
        self._db = connect(path)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def __del__(self) -> None:
        # A rehearsal's book lives in memory and goes with its heat: Python 3.13 asks that this be said.
        with contextlib.suppress(AttributeError):
            self._db.close()

    def close(self) -> None:
        """Close the file."""
        with self._lock:
            self._db.close()

    @property
    def connection(self) -> sqlite3.Connection:
        """Return the connection, for readers of a logbook that is kept in memory."""
        return self._db

    def start_run(self, header: RunHeader) -> int:
        """Open a run and return its number."""

        def write(db: sqlite3.Connection) -> int:
            last = db.execute("SELECT header_hash FROM run ORDER BY id DESC LIMIT 1").fetchone()
            full = replace(header, previous=last[0].hex() if last else "")
            text = full.text()
            cursor = db.execute(
                "INSERT INTO run (oven, profile_name, recipe, revision, steel, part, operator, simulated,"
                " unattended, started_utc, header_hash, header) VALUES (?,?,?,?,?,?,?,?,?,?,?,?)",
                (
                    header.oven,
                    header.profile_name,
                    header.recipe,
                    header.revision,
                    header.steel,
                    header.part,
                    header.operator,
                    header.simulated,
                    header.unattended,
                    header.started_utc,
                    digest(b"", text),
                    text,
                ),
            )
            return int(cursor.lastrowid or 0)

        return self.transact(write)

    def append(self, run: int, samples: Sequence[Sample], events: Sequence[Event]) -> None:
        """Add samples and events to a run in one transaction; all of them are durable when this returns."""
        with self._lock:
            head = self._head(run)
            new = _with_samples(head, blocks.to_ints(samples)) if samples else head

            def write(db: sqlite3.Connection) -> bytes:
                if samples:
                    _put_block(db, run, new)
                return _put_events(db, run, head, events)

            tip = self.transact(write)
            self._heads[run] = replace(new, events_tip=tip, events=head.events + len(events))

    def finish(
        self, run: int, outcome: str, summary: dict[str, Any], ended_utc: float = 0.0, lost: int = 0
    ) -> bytes:
        """Write the end of a run and return its seal, the chain value over all of it.

        `lost` counts samples that could not be kept. A run is finished once; RecordError after that.
        """
        with self._lock:
            head = self._head(run)
            ints = read_ints(self._db, *span(run))
            at_s = blocks.to_floats(ints)[:, 0]
            duration_s, gaps = float(at_s[-1]) if len(at_s) else 0.0, count_gaps(at_s, head.period_s)
            end = end_text(outcome, ended_utc, duration_s, gaps, lost, summary)
            seal = seal_of(head.header_hash, head.samples, head.tip, head.events, head.events_tip, end)

            def write(db: sqlite3.Connection) -> None:
                cursor = db.execute(
                    "UPDATE run SET outcome=?, cause=?, ended_utc=?, duration_s=?, samples=?, events=?,"
                    " gaps=?, lost=?, summary=?, seal=? WHERE id=? AND outcome IS NULL",
                    (
                        outcome,
                        str(summary.get("cause", "")),
                        ended_utc,
                        duration_s,
                        head.samples,
                        head.events,
                        gaps,
                        lost,
                        canonical(summary),
                        seal,
                        run,
                    ),
                )
                if cursor.rowcount != 1:
                    raise RecordError(f"run {run} has already ended; corrections are entries of their own")
                put_counts(db, run, counts_of(ints))

            self.transact(write)
            self._heads.pop(run, None)
            return seal

    def add_entry(
        self,
        kind: str,
        subject: str,
        data: dict[str, Any],
        utc_s: float,
        run: int | None = None,
        corrects: int | None = None,
    ) -> int:
        """Add an entry (a part, a hardness, a calibration ...) and return its number. See entries.py."""
        return self.transact(lambda db: put_entry(db, kind, subject, data, utc_s, run, corrects))

    def verify(self, run: int) -> Verification:
        """Check the chain of a run; the verdict names what was changed."""
        with self._lock:
            return verify_run(self._db, run)

    def transact(self, write: Callable[[sqlite3.Connection], W]) -> W:
        """Do all that `write` does, or nothing of it; durable when this returns. Raises RecordError."""
        with self._lock:
            try:
                self._db.execute("BEGIN IMMEDIATE")
                result = write(self._db)
                self._db.execute("COMMIT")
            except (*UNREADABLE, RecordError) as e:
                self._roll_back()
                if isinstance(e, RecordError):
                    raise
                raise RecordError(f"{self.path}: {reason_of(e)}") from None
            return result

    def _roll_back(self) -> None:
        if self._db.in_transaction:
            self._db.execute("ROLLBACK")

    def _head(self, run: int) -> _Head:
        if run not in self._heads:
            try:
                self._heads[run] = _load_head(self._db, run)
            except UNREADABLE as e:
                raise RecordError(f"{self.path}: {reason_of(e)}") from None
        return self._heads[run]


def _load_head(db: sqlite3.Connection, run: int) -> _Head:
    row = db.execute("SELECT header_hash, outcome, header FROM run WHERE id=?", (run,)).fetchone()
    if row is None:
        raise RecordError(f"the logbook has no run {run}")
    if row[1] is not None:
        raise RecordError(f"run {run} has ended; nothing can be added to it")
    pair = "SELECT id, count, hash, data FROM block WHERE id >= ? AND id < ? ORDER BY id DESC LIMIT 2"
    found = db.execute(pair, span(run)).fetchall()
    events = db.execute(
        "SELECT count(*), (SELECT hash FROM event WHERE id >= ? AND id < ? ORDER BY id DESC LIMIT 1)"
        " FROM event WHERE id >= ? AND id < ?",
        (*span(run), *span(run)),
    ).fetchone()
    base = digest(row[0], "samples")
    return _Head(
        header_hash=row[0],
        closed=found[1][2] if len(found) > 1 else base,
        tip=found[0][2] if found else base,
        events_tip=events[1] or digest(row[0], "events"),
        first=found[0][0] - run * RUN_SPAN if found else 0,
        rows=blocks.unpack(found[0][3], found[0][1]) if found else np.empty((0, blocks.WIDTH), np.int64),
        events=events[0],
        period_s=json.loads(row[2]).get("period_s"),
    )


def _with_samples(head: _Head, rows: blocks.Ints) -> _Head:
    if len(head.rows) >= OPEN_ROWS:
        head = replace(head, closed=head.tip, first=head.samples, rows=rows[:0])
    joined = np.concatenate((head.rows, rows))
    return replace(head, rows=joined, tip=blocks.link(head.closed, head.first, joined))


def _put_block(db: sqlite3.Connection, run: int, head: _Head) -> None:
    at_s = blocks.to_floats(head.rows[[0, -1]])[:, 0]
    db.execute(
        "INSERT OR REPLACE INTO block (id, count, first_s, last_s, checks, hash, data)"
        " VALUES (?,?,?,?,?,?,?)",
        (
            run * RUN_SPAN + head.first,
            len(head.rows),
            float(at_s[0]),
            float(at_s[1]),
            blocks.row_checks(head.rows),
            head.tip,
            blocks.pack(head.rows),
        ),
    )


def _put_events(db: sqlite3.Connection, run: int, head: _Head, events: Sequence[Event]) -> bytes:
    tip = head.events_tip
    for place, event in enumerate(events, head.events):
        tip = event.link(tip, place)
        db.execute(
            "INSERT INTO event (id, at_s, utc_s, kind, text, data, hash) VALUES (?,?,?,?,?,?,?)",
            (
                run * RUN_SPAN + place,
                event.at_s,
                event.utc_s,
                event.kind,
                event.text,
                canonical(event.data),
                tip,
            ),
        )
    return tip
