"""What the logbook knows of a run from before this screen was attached."""

from pathlib import Path

import numpy as np

from kilnctl.dashboard.history import Floats, Past
from kilnctl.logbook.readers import Curve, Reader

COLUMNS = ("elapsed_s", "process_c", "setpoint_c", "part_c")
SHOWN = ("answer", "mark", "adjust", "acknowledge", "off")
ROWS = 3600  # turned into floats at a time: a screen may not need twice the memory for one second


def load(path: Path, run: int) -> Past:
    """Return the curve and the operator's events of a run.

    Raises RecordError when the logbook is missing, damaged, or written by a newer kilnctl that this one
    cannot read.
    """
    with Reader(path) as reader:
        curve = reader.curve(run)
        events = [(e.at_s, e.text or e.kind) for e in reader.events(run) if e.kind in SHOWN]
    parts = [_columns(curve, start) for start in range(0, len(curve), ROWS)]
    return Past(np.concatenate([np.empty((len(COLUMNS), 0)), *parts], axis=1), events)


def _columns(curve: Curve, start: int) -> Floats:
    columns = Curve(curve.ints[start : start + ROWS]).columns()
    return np.stack([columns[name] for name in COLUMNS])
