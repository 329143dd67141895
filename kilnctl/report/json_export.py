"""The JSON export: a whole run, from which the same run can be made again, chain and all."""

import json
from pathlib import Path
from typing import Any

import numpy as np

from kilnctl.errors import RecordError
from kilnctl.logbook import blocks
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.records import Event
from kilnctl.logbook.restore import Archive, restore_run
from kilnctl.logbook.sample import COLUMNS, FORMAT, OLD_NAMES, PER_UNIT, QUALITIES, STATES, refuse_newer
from kilnctl.logbook.verification import Verification
from kilnctl.logbook.writer import Logbook
from kilnctl.report.record import Record

_ABOUT = (
    "One run. Units stand in the names: _c degC, _k kelvin, _s seconds; elapsed_s since the start, utc_s "
    "unix time (UTC); duty and unexplained are fractions of full power; raw_count is the number as it came "
    "off the wire, in no unit; null where nothing is known. A "
    "changed value is found with `kilnctl verify FILE`; a chain that somebody has rebuilt is found only "
    "against a short hash kept elsewhere."
)


def write_json(record: Record, archive: Archive, path: Path) -> None:
    """Write a run as one JSON object. Raises OSError."""
    v = record.verdict
    data = {
        "format": FORMAT,
        "about": _ABOUT,
        "marks": list(record.marks),
        "why_marked": list(record.why_marked),
        "run": v.run,
        "short_hash": v.short if v.ended else "",
        "states": list(STATES),
        "qualities": [str(q) for q in QUALITIES],
        "header": archive.header,
        "header_hash": archive.header_hash.hex(),
        "end": archive.end,
        "seal": archive.seal.hex(),
        "block_rows": list(archive.block_rows),
        "checks": archive.checks.hex(),
        "chain": [h.hex() for h in archive.block_hashes],
        "events": [
            {
                "at_s": e.at_s,
                "utc_s": e.utc_s,
                "kind": e.kind,
                "text": e.text,
                "data": e.data,
                "hash": h.hex(),
            }
            for e, h in zip(archive.events, archive.event_hashes, strict=True)
        ],
        "samples": {n: _numbers(archive.ints[:, i], PER_UNIT[i]) for i, n in enumerate(COLUMNS)},
    }
    path.write_text(json.dumps(data, ensure_ascii=False, allow_nan=False), encoding="utf-8")


def _numbers(column: Any, per_unit: int) -> list[float | int | None]:
    if per_unit == 1:
        return [None if v == blocks.NULL else v for v in column.tolist()]
    return [None if v == blocks.NULL else v / per_unit for v in column.tolist()]


def read_json(path: Path) -> Archive:
    """Read a JSON export. Raises RecordError."""
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        return _archive(data)
    except OSError as e:
        raise RecordError(f"{path}: cannot be read: {e.strerror}") from None
    except (ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError):
        again = "export the run again with `kilnctl export N --out FILE.json`"
        raise RecordError(f"{path.name}: not a run as kilnctl exports it; {again}") from None


def _archive(data: dict[str, Any]) -> Archive:
    refuse_newer(data["format"])
    samples = {OLD_NAMES.get(name, name): values for name, values in data["samples"].items()}
    columns = [[blocks.NULL if v is None else round(v * p) for v in samples[n]]
               for n, p in zip(COLUMNS, PER_UNIT, strict=True)]  # fmt: skip
    return Archive(
        header=data["header"],
        header_hash=bytes.fromhex(data["header_hash"]),
        end=data["end"],
        seal=bytes.fromhex(data["seal"]),
        ints=np.array(columns, dtype=np.int64).T.reshape(-1, blocks.WIDTH),
        block_rows=tuple(data["block_rows"]),
        checks=bytes.fromhex(data["checks"]),
        block_hashes=tuple(bytes.fromhex(h) for h in data["chain"]),
        events=tuple(Event(e["at_s"], e["utc_s"], e["kind"], e["text"], e["data"]) for e in data["events"]),
        event_hashes=tuple(bytes.fromhex(e["hash"]) for e in data["events"]),
    )


def check_json(path: Path) -> Verification:
    """Check a JSON export by putting it into a logbook in memory. Raises RecordError."""
    with Logbook(None) as book:
        return Reader(book.connection).verify(restore_run(book, read_json(path)))
