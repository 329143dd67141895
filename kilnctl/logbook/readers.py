"""Reading the logbook: runs, curves, events, entries; any number of readers may be attached.

Never writes, except that a file of an older version is brought up to date before it is read.
"""

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Self
from urllib.parse import quote

import numpy as np
from numpy.typing import NDArray

from kilnctl.errors import RecordError
from kilnctl.logbook import blocks
from kilnctl.logbook.counters import COUNT_COLUMNS, read_ints
from kilnctl.logbook.opening import connect, looked_into
from kilnctl.logbook.records import Event, RunHeader, loaded, short_hash
from kilnctl.logbook.sample import COLUMNS, WHOLE, Sample
from kilnctl.logbook.schema import UNREADABLE, VERSION, reason_of, version_of
from kilnctl.logbook.verification import Findings, Verification, gaps, span, verify_book, verify_run

_INDEX = {name: i for i, name in enumerate(COLUMNS)}
_NEWEST_FIRST = "SELECT data, count FROM block WHERE id >= ? AND id < ? ORDER BY id DESC"


@dataclass(frozen=True, slots=True)
class RunInfo:
    """One line of the list of runs. `outcome` is empty where no end was recorded: it goes on or broke off."""

    run: int
    oven: str
    profile_name: str
    recipe: str
    revision: int
    steel: str
    part: str
    operator: str
    simulated: bool
    unattended: bool
    started_utc: float
    outcome: str
    cause: str
    ended_utc: float | None
    duration_s: float | None
    samples: int | None
    gaps: int
    lost: int
    seal: bytes | None
    imported: bool
    element_s: float | None
    closures: int | None
    over_700_s: float | None
    over_800_s: float | None
    energy_kwh: float | None
    peak_c: float | None

    @property
    def complete(self) -> bool:
        """True when the run has an end and nothing is missing (the chain is checked by `verify` only)."""
        return bool(self.outcome) and not self.gaps and not self.lost

    @property
    def why_incomplete(self) -> str:
        """Return what is missing, empty where nothing is."""
        parts = [] if self.outcome else ["no end was recorded"]
        parts += [f"{self.gaps} gaps"] if self.gaps else []
        parts += [f"{self.lost} samples lost"] if self.lost else []
        return ", ".join(parts)

    @property
    def short(self) -> str:
        """Return the short hash of the run, empty while it has no end."""
        return short_hash(self.seal) if self.seal else ""


@dataclass(frozen=True, slots=True)
class Curve:
    """The samples of a run as columns: whole numbers of each column's step, from which values are exact."""

    ints: blocks.Ints

    def __len__(self) -> int:
        return len(self.ints)

    @property
    def duration_s(self) -> float:
        """Return the time of the last sample in the run's own seconds, 0 where there is none."""
        return float(self.column("elapsed_s")[-1]) if len(self.ints) else 0.0

    def column(self, name: str) -> NDArray[np.float64]:
        """Return one column in its unit; NaN where nothing is known."""
        return blocks.to_floats(self.ints)[:, _INDEX[name]]

    def columns(self) -> dict[str, NDArray[np.float64]]:
        """Return all columns in their units; NaN where nothing is known."""
        floats = blocks.to_floats(self.ints)
        return {name: floats[:, i] for name, i in _INDEX.items()}

    def sample(self, row: int) -> Sample:
        """Return one row as a sample. Raises IndexError beyond the last."""
        values: list[Any] = [None if np.isnan(v) else float(v) for v in blocks.to_floats(self.ints[row])]
        for name in WHOLE:
            i = _INDEX[name]
            values[i] = None if values[i] is None else int(values[i])
        for name in ("heat_on", "contactor_on"):
            i = _INDEX[name]
            values[i] = None if values[i] is None else bool(values[i])
        return Sample(*values)


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry as it stands in the logbook; see entries.py for what the kinds mean."""

    number: int
    kind: str
    subject: str
    run: int | None
    utc_s: float
    corrects: int | None
    data: dict[str, Any]


_INFO = (
    "id, oven, profile_name, recipe, revision, steel, part, operator, simulated, unattended, started_utc,"
    " outcome, cause, ended_utc, duration_s, samples, gaps, lost, seal, imported, " + ", ".join(COUNT_COLUMNS)
)


class Reader:
    """A read-only view of a logbook file. Raises RecordError where the file is missing or no logbook."""

    def __init__(self, source: Path | sqlite3.Connection) -> None:
        self._own = isinstance(source, Path)
        self._db = _open(source) if isinstance(source, Path) else source
        self.newer = version_of(self._db) > VERSION

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the file, where it was opened here."""
        if self._own:
            self._db.close()

    @property
    def connection(self) -> sqlite3.Connection:
        """Return the connection, for a backup."""
        return self._db

    def run(self, run: int) -> RunInfo:
        """Return one run. Raises RecordError when there is no such run."""
        found = self.rows(f"SELECT {_INFO} FROM run WHERE id=?", (run,))
        if not found:
            raise RecordError(f"the logbook has no run {run}; `kilnctl runs` lists them")
        return _info(found[0])

    def runs(
        self,
        *,
        oven: str | None = None,
        steel: str | None = None,
        part: str | None = None,
        outcome: str | None = None,
        since_utc: float | None = None,
        until_utc: float | None = None,
        text: str | None = None,
        limit: int | None = None,
    ) -> list[RunInfo]:
        """Return runs, newest first, that fit every condition given.

        `text` is looked for in names, causes, operators and events; `outcome` "incomplete" means without end.
        """
        where: list[str] = []
        values: list[Any] = []
        for column, value in (("oven", oven), ("steel", steel), ("part", part)):
            if value is not None:
                where.append(f"{column} = ? COLLATE NOCASE")
                values.append(value)
        if outcome is not None:
            where.append("outcome IS NULL" if outcome == "incomplete" else "outcome = ?")
            values += [] if outcome == "incomplete" else [outcome]
        for clause, limit_utc in (("started_utc >= ?", since_utc), ("started_utc < ?", until_utc)):
            if limit_utc is not None:
                where.append(clause)
                values.append(limit_utc)
        if text is not None:
            where.append(_TEXT)
            values += [f"%{_escape(text)}%"] * 2
        query = f"SELECT {_INFO} FROM run" + (" WHERE " + " AND ".join(where) if where else "")
        query += " ORDER BY id DESC" + (f" LIMIT {int(limit)}" if limit is not None else "")
        return [_info(row) for row in self.rows(query, values)]

    def header(self, run: int) -> RunHeader:
        """Return what was known when the run started."""
        return RunHeader.of(self._one("SELECT header FROM run WHERE id=?", run)[0])

    def summary(self, run: int) -> dict[str, Any]:
        """Return the summary written at the end, empty while there is none."""
        text = self._one("SELECT summary FROM run WHERE id=?", run)[0]
        return loaded(text, "the end of a run") if text else {}

    def curve(self, run: int, start_row: int = 0, stop_row: int | None = None) -> Curve:
        """Return the samples of a run from a row on, up to before `stop_row` where one is given.

        Raises RecordError where a block is damaged.
        """
        low, high = span(run)
        after = "SELECT coalesce(max(id), ?) FROM block WHERE id >= ? AND id <= ?"
        first = self.rows(after, (low, low, low + start_row))[0][0]
        last = high if stop_row is None else min(high, low + stop_row)
        with _mapped():
            ints = read_ints(self._db, first, last)
        return Curve(ints[max(0, start_row - (first - low)) : last - first])

    def samples(self, run: int) -> dict[str, NDArray[np.float64]]:
        """Return all samples of a run as columns in their units."""
        return self.curve(run).columns()

    def newest(self, run: int) -> Sample | None:
        """Return the newest sample of a run: its cursor is where a restart would take up."""
        found = self.rows(f"{_NEWEST_FIRST} LIMIT 1", span(run))
        return Curve(blocks.unpack(*found[0])).sample(-1) if found else None

    def newest_reading(self, run: int) -> Sample | None:
        """Return the newest sample of a run in which the process sensor was read."""
        for found in self.rows(_NEWEST_FIRST, span(run)):
            curve = Curve(blocks.unpack(*found))
            read = np.flatnonzero(np.isfinite(curve.columns()["process_c"]))
            if len(read):
                return curve.sample(int(read[-1]))
        return None

    def unfinished(self, oven: str | None = None) -> RunInfo | None:
        """Return the newest run without an end (of one oven)."""
        found = self.runs(oven=oven, outcome="incomplete", limit=1)
        return found[0] if found else None

    def events(self, run: int, after: int = -1) -> list[Event]:
        """Return the events of a run, those past place `after`."""
        low, high = span(run)
        rows = self.rows(
            "SELECT at_s, utc_s, kind, text, data FROM event WHERE id > ? AND id < ? ORDER BY id",
            (low + after, high),
        )
        return [Event(r[0], r[1], r[2], r[3], loaded(r[4], "an event")) for r in rows]

    def gaps(self, run: int) -> list[tuple[float, float]]:
        """Return where more than three sample periods are missing, as (from, to) in seconds."""
        return gaps(self.curve(run).column("elapsed_s"), self.header(run).period_s)

    def entries(
        self, kind: str | None = None, subject: str | None = None, run: int | None = None
    ) -> list[Entry]:
        """Return entries in the order in which they were written, corrected ones too."""
        asked = [("kind", kind), ("subject", subject), ("run", run)]
        where = [f"{name} = ?" for name, value in asked if value is not None]
        query = "SELECT id, kind, subject, run, utc_s, corrects, data FROM entry"
        query += (" WHERE " + " AND ".join(where) if where else "") + " ORDER BY id"
        rows = self.rows(query, [value for _, value in asked if value is not None])
        return [Entry(r[0], r[1], r[2], r[3], r[4], r[5], loaded(r[6], "an entry")) for r in rows]

    def verify_all(self, progress: Callable[[float], object] = lambda _: None) -> Findings:
        """Check every run, the links between them, and the entries."""
        with _mapped():
            return verify_book(self._db, progress)

    def changed(self) -> int:
        """Return a number that changes when somebody else has written (a microsecond to ask)."""
        return int(self.rows("PRAGMA data_version")[0][0])

    def verify(self, run: int) -> Verification:
        """Check the chain of a run."""
        with _mapped():
            return verify_run(self._db, run)

    def _one(self, query: str, run: int) -> tuple[Any, ...]:
        found = self.rows(query, (run,))
        if not found:
            raise RecordError(f"the logbook has no run {run}; `kilnctl runs` lists them")
        return found[0]

    def rows(self, query: str, values: Any = ()) -> list[tuple[Any, ...]]:
        """Return the rows of a query."""
        with _mapped():
            return self._db.execute(query, values).fetchall()


_TEXT = (
    "(profile_name || ' ' || recipe || ' ' || steel || ' ' || part || ' ' || operator || ' ' ||"
    " coalesce(cause, '') LIKE ? ESCAPE '\\' OR EXISTS (SELECT 1 FROM event WHERE"
    f" event.id >= run.id * {2**32} AND event.id < (run.id + 1) * {2**32} AND event.text LIKE ? ESCAPE '\\'))"
)


def _escape(text: str) -> str:
    return text.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")


_TEXTS = ("oven", "profile_name", "recipe", "steel", "part", "operator")


def _info(row: tuple[Any, ...]) -> RunInfo:
    named = dict(zip(RunInfo.__dataclass_fields__, row, strict=True))
    texts = (*_TEXTS, *(name for name in ("outcome", "cause") if named[name] is not None))
    numbers = [value for name, value in named.items() if name not in (*_TEXTS, "outcome", "cause", "seal")]
    sound = all(isinstance(named[name], str) for name in texts) and named["started_utc"] is not None
    if not sound or not all(isinstance(value, int | float | None) for value in numbers):
        raise RecordError(f"run {named['run']} in the logbook is damaged; `kilnctl verify` says where")
    named |= {name: bool(named[name]) for name in ("simulated", "unattended", "imported")}
    named |= {name: named[name] or "" for name in ("outcome", "cause")}
    named |= {name: named[name] or 0 for name in ("gaps", "lost")}
    return RunInfo(**named)


@contextmanager
def _mapped() -> Iterator[None]:
    try:
        yield
    except UNREADABLE as e:
        raise RecordError(f"the logbook cannot be read: {reason_of(e)}") from None


def _open(path: Path) -> sqlite3.Connection:
    if not path.is_file():
        raise RecordError(f"{path}: no logbook here yet; the first run makes one")
    where = "file:" + quote(str(path.absolute()))
    try:
        try:
            db, known = looked_into(where + "?mode=ro")
        except (sqlite3.OperationalError, UnicodeDecodeError):
            # A folder that may not be written has no room for the shared-memory file; nobody writes there.
            db, known = looked_into(where + "?mode=ro&immutable=1")
    except UNREADABLE as e:
        raise RecordError(f"{path}: cannot be read as a logbook: {reason_of(e)}") from None
    if known <= 0:
        db.close()
        raise RecordError(f"{path}: not a logbook (or an empty one)")
    if known < VERSION:
        db.close()
        connect(path).close()  # brings it up to date; the file as it was stays beside it
        return _open(path)
    return db
