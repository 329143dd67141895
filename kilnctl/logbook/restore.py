"""Runs that leave a logbook and come back into one: the same rows, the same chain."""

import json
from dataclasses import dataclass
from itertools import accumulate
from typing import Any

import numpy as np

from kilnctl.errors import RecordError
from kilnctl.logbook import blocks
from kilnctl.logbook.counters import counts_of
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.records import Event, RunHeader, canonical
from kilnctl.logbook.schema import RUN_SPAN, put_counts
from kilnctl.logbook.verification import COPIES, span
from kilnctl.logbook.writer import Logbook

END = ("outcome", "cause", "ended_utc", "duration_s", "samples", "events", "gaps", "lost", "summary")


@dataclass(frozen=True, slots=True)
class Archive:
    """A run as it lies in the file: nothing recomputed, so that a change made outside is still found.

    `end` maps the columns of END (empty for a run without end), `seal` is empty then too.
    """

    header: str
    header_hash: bytes
    end: dict[str, Any]
    seal: bytes
    ints: blocks.Ints
    block_rows: tuple[int, ...]
    checks: bytes
    block_hashes: tuple[bytes, ...]
    events: tuple[Event, ...]
    event_hashes: tuple[bytes, ...]


def archive_run(reader: Reader, run: int) -> Archive:
    """Return a run as an archive. Raises RecordError when there is none or a block cannot be read."""
    found = reader.rows(f"SELECT header, header_hash, seal, {', '.join(END)} FROM run WHERE id=?", (run,))
    if not found:
        raise RecordError(f"the logbook has no run {run}")
    header, header_hash, seal, *end = found[0]
    rows = reader.rows(
        "SELECT data, count, checks, hash FROM block WHERE id >= ? AND id < ? ORDER BY id", span(run)
    )
    hashes = reader.rows("SELECT hash FROM event WHERE id >= ? AND id < ? ORDER BY id", span(run))
    parts = [blocks.unpack(r[0], r[1]) for r in rows]
    named = dict(zip(END, end, strict=True)) if end[0] is not None else {}
    if named:
        named["summary"] = json.loads(named["summary"])
    return Archive(
        header=header,
        header_hash=header_hash,
        end=named,
        seal=seal or b"",
        ints=np.concatenate(parts) if parts else np.empty((0, blocks.WIDTH), np.int64),
        block_rows=tuple(r[1] for r in rows),
        checks=b"".join(r[2] for r in rows),
        block_hashes=tuple(r[3] for r in rows),
        events=tuple(reader.events(run)),
        event_hashes=tuple(r[0] for r in hashes),
    )


def restore_run(book: Logbook, archive: Archive, wanted: int | None = None) -> int:
    """Put an archive into a logbook and return its number there: the wanted one where that is free.

    Raises RecordError, also for a run that is known already.
    """
    if sum(archive.block_rows) != len(archive.ints) or len(archive.checks) != 4 * len(archive.ints):
        raise RecordError("the counts in the file disagree: rows were added or taken out")
    return book.transact(lambda db: _insert(db, archive, wanted))


def _insert(db: Any, archive: Archive, wanted: int | None) -> int:
    if db.execute("SELECT 1 FROM run WHERE header_hash=?", (archive.header_hash,)).fetchone():
        raise RecordError("this run is in the logbook already")
    header = RunHeader.of(archive.header)
    named = {name: getattr(header, name) for name in COPIES} | dict(archive.end)
    named |= {"header": archive.header, "header_hash": archive.header_hash, "seal": archive.seal or None}
    named["imported"] = 1
    if archive.end:
        named["summary"] = canonical(archive.end["summary"])
    if wanted is not None and not db.execute("SELECT 1 FROM run WHERE id=?", (wanted,)).fetchone():
        named["id"] = wanted
    marks = ",".join("?" * len(named))
    query = f"INSERT INTO run ({', '.join(named)}) VALUES ({marks})"
    run = int(db.execute(query, tuple(named.values())).lastrowid)
    firsts = accumulate(archive.block_rows, initial=0)
    for first, count, value in zip(firsts, archive.block_rows, archive.block_hashes, strict=False):
        ints = archive.ints[first : first + count]
        at_s = blocks.to_floats(ints[[0, -1]])[:, 0]
        checks = archive.checks[4 * first : 4 * (first + count)]
        db.execute(
            "INSERT INTO block (id, count, first_s, last_s, checks, hash, data) VALUES (?,?,?,?,?,?,?)",
            (run * RUN_SPAN + first, count, at_s[0], at_s[1], checks, value, blocks.pack(ints)),
        )
    for place, (event, value) in enumerate(zip(archive.events, archive.event_hashes, strict=True)):
        db.execute(
            "INSERT INTO event (id, at_s, utc_s, kind, text, data, hash) VALUES (?,?,?,?,?,?,?)",
            (
                run * RUN_SPAN + place, event.at_s, event.utc_s, event.kind, event.text,
                canonical(event.data), value,
            ),
        )  # fmt: skip
    put_counts(db, run, counts_of(archive.ints))
    return run
