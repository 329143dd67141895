"""What a run used up, computed when it ends: element hours, closures, time hot. Summed when asked."""

import sqlite3
from dataclasses import dataclass

import numpy as np

from kilnctl.logbook import blocks
from kilnctl.logbook.sample import COLUMNS

_AT, _PROCESS, _PART = (COLUMNS.index(n) for n in ("elapsed_s", "process_c", "part_c"))
_HEAT, _ENERGY = (COLUMNS.index(n) for n in ("heat_on", "energy_kwh"))
# A step longer than this is a gap: nobody knows what the heater did meanwhile.
_LONGEST_STEP_S = 10.0
COUNT_COLUMNS = ("element_s", "closures", "over_700_s", "over_800_s", "energy_kwh", "peak_c")


@dataclass(frozen=True, slots=True)
class Counts:
    """Seconds of heater on, relay closures, seconds of the part above 700 and 800 degC, energy, peak."""

    element_s: float = 0.0
    closures: int = 0
    over_700_s: float = 0.0
    over_800_s: float = 0.0
    energy_kwh: float | None = None
    peak_c: float | None = None


def counts_of(ints: blocks.Ints) -> Counts:
    """Return what the samples add up to; time hot is the part's where it is estimated, else the oven's."""
    if len(ints) == 0:
        return Counts()
    values = blocks.to_floats(ints)
    step_s = np.clip(np.diff(values[:, _AT], append=values[-1, _AT]), 0.0, _LONGEST_STEP_S)
    on = values[:, _HEAT] == 1.0
    hot_c = np.where(np.isnan(values[:, _PART]), values[:, _PROCESS], values[:, _PART])
    energy, peak = values[:, _ENERGY], values[:, _PROCESS]
    return Counts(
        element_s=round(float(step_s[on].sum()), 1),
        closures=int(np.count_nonzero(np.diff(on.astype(np.int8), prepend=0) == 1)),
        over_700_s=round(float(step_s[hot_c > 700.0].sum()), 1),
        over_800_s=round(float(step_s[hot_c > 800.0].sum()), 1),
        energy_kwh=None if np.isnan(energy).all() else float(np.nanmax(energy)),
        peak_c=None if np.isnan(peak).all() else float(np.nanmax(peak)),
    )


def read_ints(db: sqlite3.Connection, low: int, high: int) -> blocks.Ints:
    """Return the samples with keys from `low` to below `high`. Raises RecordError for a damaged block."""
    rows = db.execute("SELECT data, count FROM block WHERE id >= ? AND id < ? ORDER BY id", (low, high))
    parts = [blocks.unpack(data, count) for data, count in rows]
    return np.concatenate(parts) if parts else np.empty((0, blocks.WIDTH), np.int64)
