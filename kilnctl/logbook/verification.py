"""Is a run's record whole and as it was written? Names the row, event or field that was changed.

What the chain proves: that nothing was changed, taken out or put in by somebody who did not also rebuild
the chain. Whoever has the file and this program can rebuild it; against a short hash that was printed or
sent away before, that shows too.
"""

import contextlib
import json
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from kilnctl.errors import RecordError
from kilnctl.logbook import blocks
from kilnctl.logbook.records import Event, RunHeader, digest, end_text, entry_link, seal_of, short_hash
from kilnctl.logbook.schema import RUN_SPAN

GAP_PERIODS = 3.0
# The run's own columns are copies for searching; the header is what the chain covers.
COPIES = (
    "oven",
    "profile_name",
    "recipe",
    "revision",
    "steel",
    "part",
    "operator",
    "simulated",
    "unattended",
    "started_utc",
)


@dataclass(frozen=True, slots=True)
class Verification:
    """What a check of one run found.

    `findings` are sentences, empty where the chain holds; `rows` the numbers (from 0) of changed samples;
    `value` is the chain value over all of it, `ended` whether the run has an end, `lost` counts samples
    that could not be kept.
    """

    run: int
    findings: tuple[str, ...]
    rows: tuple[int, ...]
    samples: int
    events: int
    gaps: int
    lost: int
    ended: bool
    value: bytes

    @property
    def chain_holds(self) -> bool:
        """True when nothing was found to be changed."""
        return not self.findings

    @property
    def complete(self) -> bool:
        """True when the run has an end and no gap, nothing was lost and nothing changed."""
        return self.chain_holds and self.ended and not self.gaps and not self.lost

    @property
    def short(self) -> str:
        """Return the short hash as it is printed."""
        return short_hash(self.value)


def span(run: int) -> tuple[int, int]:
    """Return the keys between which the rows of a run lie."""
    return run * RUN_SPAN, (run + 1) * RUN_SPAN


def count_gaps(at_s: NDArray[np.float64], period_s: float | None) -> int:
    """Return how many steps exceed three sample periods (of the median step where no period is stated)."""
    return len(gaps(at_s, period_s))


def gaps(at_s: NDArray[np.float64], period_s: float | None) -> list[tuple[float, float]]:
    """Return the steps that exceed three sample periods as (from, to) in seconds."""
    steps = np.diff(at_s)
    if len(steps) == 0:
        return []
    period = period_s or float(np.median(steps))
    return [(float(at_s[i]), float(at_s[i + 1])) for i in np.nonzero(steps > GAP_PERIODS * period)[0]]


def verify_run(db: sqlite3.Connection, run: int) -> Verification:
    """Check everything that was recorded of a run. Raises RecordError when there is no such run."""
    db.row_factory, before = sqlite3.Row, db.row_factory
    try:
        row = db.execute("SELECT * FROM run WHERE id=?", (run,)).fetchone()
        if row is None:
            raise RecordError(f"the logbook has no run {run}")
        return _checked(db, dict(row))
    finally:
        db.row_factory = before


def _checked(db: sqlite3.Connection, row: dict[str, Any]) -> Verification:
    try:
        return _check(db, row)
    # Damage may put any value in any place; it is a finding like another, and the next run is checked.
    except (RecordError, ArithmeticError, AttributeError, LookupError, TypeError, ValueError):
        found = ("cannot be read as a record: changed or damaged",)
        return Verification(int(row["id"]), found, (), 0, 0, 0, 0, False, b"")


def _check(db: sqlite3.Connection, row: dict[str, Any]) -> Verification:
    run = int(row["id"])
    found = _header_findings(row)
    samples, tip, at_s, wrong, sample_findings = _check_blocks(db, run, row["header_hash"])
    events, events_tip, event_findings = _check_events(db, run, row["header_hash"])
    found += sample_findings + event_findings
    ended = row["outcome"] is not None
    end = _end(row) if ended else ""
    value = seal_of(row["header_hash"], samples, tip, events, events_tip, end)
    if ended:
        found += _end_findings(row, samples, events, value, bool(found))
    return Verification(
        run=run,
        findings=tuple(found),
        rows=tuple(wrong),
        samples=samples,
        events=events,
        gaps=count_gaps(at_s, RunHeader.of(row["header"]).period_s),
        lost=row["lost"] or 0,
        ended=ended,
        value=value,
    )


def _header_findings(row: dict[str, Any]) -> list[str]:
    if digest(b"", row["header"]) != row["header_hash"]:
        return ["the header (oven file, profile, steel, part) does not match its chain value"]
    header = RunHeader.of(row["header"])
    wrong = [name for name in COPIES if row[name] != getattr(header, name)]
    return [f'"{name}" of the run differs from its header' for name in wrong]


def _check_blocks(
    db: sqlite3.Connection, run: int, header_hash: bytes
) -> tuple[int, bytes, NDArray[np.float64], list[int], list[str]]:
    low, high = span(run)
    tip, expected = digest(header_hash, "samples"), 0
    times: list[NDArray[np.float64]] = []
    wrong: list[int] = []
    found: list[str] = []
    every = "SELECT id, count, checks, hash, data FROM block WHERE id >= ? AND id < ? ORDER BY id"
    for key, count, checks, value, data in db.execute(every, (low, high)):
        first = key - low
        if first != expected:
            found.append(f"samples {expected} to {first - 1} are missing")
        expected = first + count
        try:
            ints = blocks.unpack(data, count)
        except RecordError:
            found.append(f"samples {first} to {expected - 1} cannot be read: changed or damaged")
            tip = value
            continue
        changed = [first + i for i in blocks.wrong_rows(ints, checks)]
        found += [
            f"sample {i} (at {blocks.to_floats(ints)[i - first, 0]:.1f} s) was changed" for i in changed
        ]
        wrong += changed
        tip = blocks.link(tip, first, ints)
        if tip != value and not changed:
            found.append(f"samples {first} to {expected - 1} do not match the chain")
        tip = value
        times.append(blocks.to_floats(ints)[:, 0])
    return expected, tip, np.concatenate(times) if times else np.empty(0), wrong, found


def _check_events(db: sqlite3.Connection, run: int, header_hash: bytes) -> tuple[int, bytes, list[str]]:
    low, high = span(run)
    tip, expected, found = digest(header_hash, "events"), 0, []
    every = "SELECT id, at_s, utc_s, kind, text, data, hash FROM event WHERE id >= ? AND id < ? ORDER BY id"
    for key, at_s, utc_s, kind, text, data, value in db.execute(every, (low, high)):
        place = key - low
        if place != expected:
            found.append(f"events {expected} to {place - 1} are missing")
        expected = place + 1
        if Event(at_s, utc_s, kind, text, json.loads(data)).link(tip, place) != value:
            found.append(f'event {place} ("{kind}" at {at_s:.1f} s) was changed')
        tip = value
    return expected, tip, found


def _end(row: dict[str, Any]) -> str:
    return end_text(
        row["outcome"],
        row["ended_utc"],
        row["duration_s"],
        row["gaps"],
        row["lost"],
        json.loads(row["summary"]),
    )


def _end_findings(row: dict[str, Any], samples: int, events: int, value: bytes, known: bool) -> list[str]:
    found = []
    if row["samples"] != samples:
        found.append(f"the end counts {row['samples']} samples, the record has {samples}")
    if row["events"] != events:
        found.append(f"the end counts {row['events']} events, the record has {events}")
    if value != row["seal"] and not known and not found:
        found.append("the end (outcome, duration, summary) does not match the seal")
    return found


@dataclass(frozen=True, slots=True)
class Findings:
    """What a check of the whole logbook found: verdicts of the runs, and sentences about what joins them."""

    verdicts: tuple[Verification, ...]
    book: tuple[str, ...]

    @property
    def whole(self) -> bool:
        """True when nothing was changed or taken out anywhere (a run may still be incomplete)."""
        return not self.book and all(v.chain_holds for v in self.verdicts)


def verify_book(db: sqlite3.Connection, progress: Callable[[float], object]) -> Findings:
    """Check every run, that none was taken out between two others, and the chain over the entries."""
    runs = db.execute("SELECT id, header_hash, header, imported FROM run ORDER BY id").fetchall()
    verdicts = []
    for place, (run, *_) in enumerate(runs):
        verdicts.append(verify_run(db, run))
        progress((place + 1) / len(runs))
    return Findings(tuple(verdicts), (*_missing_runs(runs), *_entry_findings(db)))


def _missing_runs(runs: list[tuple[int, bytes, str, int]]) -> list[str]:
    """Every run recorded here names the one before it; imported ones come from elsewhere."""
    # A damaged file may hold anything in any column.
    found, known = [], {value.hex() for _, value, _, _ in runs if isinstance(value, bytes)}
    for run, _, header, imported in runs:
        previous = ""
        with contextlib.suppress(RecordError):  # a damaged header is the run's own finding
            previous = RunHeader.of(header).previous
        if previous and not imported and previous not in known:
            found.append(f"the run before run {run} is missing")
    return found


def _entry_findings(db: sqlite3.Connection) -> list[str]:
    tip, found = b"", []
    rows = db.execute("SELECT id, kind, subject, run, utc_s, corrects, data, hash FROM entry ORDER BY id")
    for number, kind, subject, run, utc_s, corrects, data, value in rows:
        if entry_link(tip, kind, subject, run, utc_s, corrects, data) != value:
            found.append(f"entry {number} ({kind} of {subject}) was changed, or one before it taken out")
        tip = value
    return found
