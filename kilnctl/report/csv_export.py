"""The CSV export: one line per sample that says whose it is, whether it is marked, and carries its own check.

Each line's check is taken over its text and the check before it, so that a changed, moved, missing or added
line is found without the logbook. Units stand in the column names; `utc` is UTC, `local` the local time of
the machine that exported. `format` is the form of the table; one that has no such column is of the first.
"""

import csv
import hashlib
import io
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np

from kilnctl.errors import RecordError
from kilnctl.logbook import blocks
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.sample import (
    COLUMNS,
    DECIMALS,
    FORMAT,
    OLD_NAMES,
    PER_UNIT,
    QUALITIES,
    STATES,
    WHOLE,
    refuse_newer,
)
from kilnctl.report.record import Record

Progress = Callable[[float], object]
FIRST = ("elapsed_s", "utc", "state", "segment", "setpoint_c", "process_c", "duty", "heat_on")
_SAMPLE = tuple("utc" if c == "utc_s" else c for c in COLUMNS)
HEAD = (
    *FIRST,
    *(c for c in _SAMPLE if c not in FIRST),
    "local",
    "run",
    "hash",
    "marks",
    "format",
    "row",
    "rows",
    "check",
)
_CHECK_DIGITS = 8
_STEP = 2000


def write_csv(record: Record, path: Path, progress: Progress = lambda _: None) -> None:
    """Write the samples of a run as CSV (RFC 4180, UTF-8). Raises OSError."""
    with path.open("w", encoding="utf-8", newline="") as file:
        for line, done in _lines(record):
            file.write(line)
            progress(done)


def _lines(record: Record) -> Iterator[tuple[str, float]]:
    head = ",".join(HEAD)
    check, rows = _check("", head), len(record.curve)
    yield head + "\r\n", 0.0
    v = record.verdict
    whose = (str(v.run), v.short if v.ended else "no end", " ".join(record.marks), str(FORMAT))
    for start in range(0, rows, _STEP):
        out = []
        columns = _texts(record.curve.ints[start : start + _STEP])
        for i, fields in enumerate(zip(*columns, strict=True), start + 1):
            line = ",".join((*fields, *whose, str(i), str(rows)))
            check = _check(check, line)
            out.append(f"{line},{check}\r\n")
        yield "".join(out), min(1.0, (start + _STEP) / rows)


def _check(before: str, line: str) -> str:
    return hashlib.sha256(f"{before}\n{line}".encode()).hexdigest()[:_CHECK_DIGITS]


def _texts(ints: blocks.Ints) -> list[list[str]]:
    """Return the columns of HEAD up to `local` as texts."""
    made = {name: _column(name, ints[:, i], i) for i, name in enumerate(_SAMPLE)}
    made["local"] = [_local(v) for v in ints[:, COLUMNS.index("utc_s")].tolist()]
    return [made[name] for name in HEAD[: HEAD.index("run")]]


def _column(name: str, values: Any, place: int) -> list[str]:
    if name == "utc":
        return [f"{t}Z" for t in np.datetime_as_string(values.astype("datetime64[ms]"), unit="ms").tolist()]
    if name == "state":
        return [STATES[v] for v in values.tolist()]
    if name == "quality":
        return [str(QUALITIES[v]) for v in values.tolist()]
    per_unit, decimals, null = PER_UNIT[place], DECIMALS[place], blocks.NULL
    if per_unit == 1:
        return ["" if v == null else str(v) for v in values.tolist()]
    return ["" if v == null else f"{v / per_unit:.{decimals}f}" for v in values.tolist()]


def _local(utc_ms: int) -> str:
    return datetime.fromtimestamp(utc_ms / 1000).astimezone().isoformat(timespec="seconds")


def read_csv(path: Path) -> blocks.Ints:
    """Return the samples of a CSV export, exactly as the logbook has them. Raises RecordError."""
    rows = _rows(path)
    try:
        refuse_newer(max((int(row.get("format") or 1) for row in rows), default=FORMAT))
        return np.array([_ints(row) for row in rows], dtype=np.int64).reshape(-1, blocks.WIDTH)
    except (ValueError, KeyError) as e:
        raise RecordError(f"{path.name}: not samples as kilnctl exports them: {e}") from None


def _rows(path: Path) -> list[dict[str, str]]:
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as e:
        why = e.strerror if isinstance(e, OSError) else "not UTF-8 text"
        raise RecordError(f"{path}: cannot be read: {why}") from None
    reader = csv.DictReader(io.StringIO(text, newline=""), restval="")
    if tuple((reader.fieldnames or ())[: len(FIRST)]) != FIRST:
        raise RecordError(f"{path.name}: not a table of samples: it should begin {','.join(FIRST)}")
    return list(reader)


def _ints(row: dict[str, str]) -> list[int]:
    row = {OLD_NAMES.get(name, name): text for name, text in row.items()}
    return [_int(name, row[name], per_unit) for name, per_unit in zip(_SAMPLE, PER_UNIT, strict=True)]


def _int(name: str, text: str, per_unit: int) -> int:
    if name == "utc":
        return round(datetime.fromisoformat(text).astimezone(UTC).timestamp() * per_unit)
    if name == "state":
        return STATES.index(text)
    if name == "quality":
        return [str(q) for q in QUALITIES].index(text)
    if text == "":
        return blocks.NULL
    return int(text) if name in WHOLE else round(float(text) * per_unit)


def check_csv(path: Path) -> tuple[tuple[str, ...], str, str]:
    """Return what is wrong with an export (one sentence each), its short hash and its marks.

    Raises RecordError for a file that carries no checks.
    """
    rows = _rows(path)
    if not rows or "check" not in rows[0]:
        raise RecordError(f"{path.name}: carries no checks; it was not exported by kilnctl, or has no rows")
    found, before = [], _check("", ",".join(rows[0]))
    for number, row in enumerate(rows, 1):
        line = ",".join(v for k, v in row.items() if k != "check" and k is not None)
        if _check(before, line) != row["check"]:
            found.append(f"row {number} (at {row['elapsed_s']} s) does not match its check: changed or moved")
        before = row["check"]
    return (*found, *_count_findings(rows)), rows[0]["hash"], rows[0]["marks"]


def against_logbook(path: Path, reader: Reader, short: str) -> tuple[str, ...] | None:
    """Return where an export differs from the run with this hash; None where the logbook has no such run."""
    run = next((info.run for info in reader.runs() if info.short == short), None)
    if run is None:
        return None
    ours, theirs = reader.curve(run).ints, read_csv(path)
    if ours.shape != theirs.shape:
        return (f"the logbook has {len(ours)} rows of run {run}, the file {len(theirs)}",)
    changed = np.flatnonzero((ours != theirs).any(axis=1))
    return tuple(f"row {i + 1} differs from run {run} of the logbook" for i in changed)


def _count_findings(rows: list[dict[str, str]]) -> list[str]:
    numbers = [row["row"] for row in rows]
    if not rows or numbers != [str(i) for i in range(1, len(rows) + 1)] or rows[-1]["rows"] != str(len(rows)):
        said = rows[0]["rows"] if rows else "its"
        return [
            f"the file should have {said} rows in order, it has {len(rows)}: rows are missing, added or moved"
        ]
    return []
