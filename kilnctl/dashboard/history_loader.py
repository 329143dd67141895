"""What the logbook knows of a run from before this screen was attached."""

import tomllib
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from kilnctl.dashboard.history import Floats, Past
from kilnctl.logbook.readers import Reader

COLUMNS = ("elapsed_s", "process_c", "setpoint_c", "part_c")
SHOWN = ("answer", "mark", "adjust", "acknowledge", "off")
ROWS = 3600  # read at a time: a screen may not need twice the memory for one second


def load(path: Path, run: int) -> Past:
    """Return the curve, the operator's events and the plan's reasons of a run.

    Raises RecordError when the logbook is missing, damaged, or written by a newer kilnctl that this one
    cannot read.
    """
    with Reader(path) as reader:
        parts = list(_parts(reader, run))
        events = [(e.at_s, e.text or e.kind) for e in reader.events(run) if e.kind in SHOWN]
        reasons = _reasons(reader.header(run).profile)
    return Past(np.concatenate([np.empty((len(COLUMNS), 0)), *parts], axis=1), events, reasons)


def _reasons(profile: str) -> tuple[str, ...]:
    """Return why each segment of a recorded profile is there; a snapshot does not carry it each second."""
    try:
        segments = tomllib.loads(profile).get("segment", [])
    except tomllib.TOMLDecodeError:
        return ()
    return tuple(str(segment.get("reason", "")) for segment in segments)


def _parts(reader: Reader, run: int) -> Iterator[Floats]:
    """Yield the four columns an hour at a time; the run may grow meanwhile, so the last piece decides."""
    start = 0
    while len(curve := reader.curve(run, start, start + ROWS)):
        columns = curve.columns()
        yield np.stack([columns[name] for name in COLUMNS])
        start += len(curve)
