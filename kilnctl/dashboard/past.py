"""What the logbook knows of a run from before this screen was attached."""

from pathlib import Path

import numpy as np

from kilnctl.dashboard.history import Past
from kilnctl.logbook.readers import Reader


def load(path: Path, run: int) -> Past:
    """Return the curve and the operator's events of a run.

    Raises RecordError when the logbook is missing, damaged, or written by a newer kilnctl that this one
    cannot read.
    """
    with Reader(path) as reader:
        columns = reader.samples(run)
        events = [(e.at_s, e.text or e.kind) for e in reader.events(run) if e.kind in SHOWN]
    names = ("elapsed_s", "process_c", "setpoint_c", "part_c")
    return Past(np.stack([columns[name] for name in names]), events)


SHOWN = ("answer", "mark", "adjust", "acknowledge", "off", "hold", "continue")
