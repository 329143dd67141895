"""A copy of the whole logbook that can be read like one, and a way back from it."""

import os
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

from kilnctl.errors import RecordError
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.restore import archive_run, restore_run
from kilnctl.logbook.restored import KIND as RESTORED
from kilnctl.logbook.restored import SUBJECT, in_order
from kilnctl.logbook.writer import Logbook, put_entry

Progress = Callable[[float], object]
_PAGES = 2000
NO_MODEL = 0  # no row has this number


def back_up(source: Path, copy: Path, progress: Progress = lambda _: None) -> None:
    """Copy a logbook while it may be written; the copy appears under its name only when it is whole.

    Raises RecordError when the copy exists already or cannot be written.
    """
    if copy.exists():
        raise RecordError(f"{copy}: exists already; a backup overwrites nothing")
    part = copy.with_name(copy.name + ".part")
    try:
        with Reader(source) as reader:
            other = sqlite3.connect(part)
            try:
                reader.connection.backup(other, pages=_PAGES, progress=_told(progress))
                other.execute("PRAGMA journal_mode=DELETE")
            finally:
                other.close()
        os.replace(part, copy)
    except (sqlite3.Error, OSError) as e:
        part.unlink(missing_ok=True)
        raise RecordError(f"{copy}: the backup could not be written: {e}") from None


def _told(progress: Progress) -> Callable[[int, int, int], object]:
    return lambda _status, left, total: progress(1.0 - left / max(1, total))


def restore(book: Logbook, copy: Path, progress: Progress = lambda _: None) -> tuple[int, int]:
    """Take over everything of a backup that the logbook does not have; return how many (runs, entries).

    Into an empty logbook runs and entries keep their numbers. Raises RecordError for a damaged copy.
    """
    with Reader(copy) as old:
        runs = [row[0] for row in old.rows("SELECT id FROM run ORDER BY id")]
        own = Reader(book.connection)
        known = {row[0] for row in own.rows("SELECT header_hash FROM run")}
        numbers: dict[int, int] = {}
        added = 0
        for place, run in enumerate(runs):
            archive = archive_run(old, run)
            if archive.header_hash not in known:
                numbers[run] = restore_run(book, archive, run)
                added += 1
            else:
                numbers[run] = _number(own, archive.header_hash)
            progress((place + 1) / max(1, len(runs)))
        # All of them with their mark, or none: after a power cut the next import would find unmarked ones.
        return added, book.transact(lambda db: _restore_entries(db, own, old, numbers))


def _number(reader: Reader, header_hash: bytes) -> int:
    return int(reader.rows("SELECT id FROM run WHERE header_hash=?", (header_hash,))[0][0])


def _restore_entries(db: sqlite3.Connection, own: Reader, old: Reader, runs: dict[int, int]) -> int:
    before = own.entries()
    known = {(e.kind, e.subject, e.utc_s, str(e.data)): e.number for e in before}
    numbers: dict[int, int] = {}
    added: list[int] = []
    for entry in in_order(old.entries(), old.entries(RESTORED)):
        if entry.kind == RESTORED:
            continue  # it counts that book's entries
        data = _as_numbered_here(entry.data, runs, numbers)
        key = (entry.kind, entry.subject, entry.utc_s, str(data))
        if key not in known:
            corrects = numbers.get(entry.corrects) if entry.corrects is not None else None
            run = runs.get(entry.run, entry.run) if entry.run is not None else None
            known[key] = put_entry(db, entry.kind, entry.subject, data, entry.utc_s, run, corrects)
            added.append(known[key])
        numbers[entry.number] = known[key]
    if before and added:  # an empty book has nothing that could be newer
        put_entry(db, RESTORED, SUBJECT, {"numbers": added}, max(e.utc_s for e in before))
    return len(added)


def _as_numbered_here(data: dict[str, Any], runs: dict[int, int], entries: dict[int, int]) -> dict[str, Any]:
    """Return what an entry says, with the numbers of run and learned model that they have in this logbook."""
    said = dict(data)
    if isinstance(said.get("run"), int):
        said["run"] = runs.get(said["run"])
    if isinstance(said.get("learned"), int):
        said["learned"] = entries.get(said["learned"], NO_MODEL)
    return said
