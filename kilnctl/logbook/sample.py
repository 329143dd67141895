"""One tick as it is kept. Every sample carries the whole cursor, so that a restart needs nothing else."""

from typing import NamedTuple

from kilnctl.errors import RecordError
from kilnctl.readings import Quality

STATES = ("idle", "running", "held", "complete", "stopped", "aborted", "tripped")
QUALITIES = tuple(Quality)


class Sample(NamedTuple):
    """What one tick saw and did; None where nothing is known.

    Temperatures in degC (`process_c` corrected), times in seconds of the
    heat, `utc_s` unix time, `duty` 0..1, `unexplained` a fraction of full power; `state` and `quality` are
    positions in STATES and QUALITIES, `segment` is -1 where none runs; `raw_count` is the number as it came
    off the wire, in no unit.
    """

    elapsed_s: float
    utc_s: float
    state: int
    segment: int
    setpoint_c: float | None
    process_c: float | None
    duty: float
    heat_on: bool | None
    raw_count: float | None = None
    second_c: float | None = None
    load_c: float | None = None
    part_c: float | None = None
    contactor_on: bool | None = None
    unexplained: float | None = None
    segment_s: float | None = None
    soak_oven_s: float | None = None
    soak_part_s: float | None = None
    dose20_s: float | None = None
    dose_c_s: float | None = None
    energy_kwh: float | None = None
    quality: int = 0


COLUMNS = Sample._fields
# The form of what is exported, CSV and JSON, and the columns that older forms called by another name. The
# logbook itself keeps columns by their place, so that a better name changes no stored byte.
FORMAT = 2
OLD_NAMES = {"raw_c": "raw_count"}  # format 1: a count under the name of a temperature
# What one step of each column's stored number is worth, as its inverse: the record is finer than any sensor.
# Dividing a whole number by it gives exactly the float that the decimal text of an export reads back as.
_PER_UNIT = {
    "elapsed_s": 1000,
    "utc_s": 1000,
    "duty": 10_000,
    "unexplained": 10_000,
    "segment_s": 1000,
    "soak_oven_s": 1000,
    "soak_part_s": 1000,
    "dose20_s": 100,
    "dose_c_s": 100,
    "energy_kwh": 1_000_000,
}
WHOLE = ("state", "segment", "heat_on", "contactor_on", "quality")
PER_UNIT = tuple(1 if c in WHOLE else _PER_UNIT.get(c, 1000) for c in COLUMNS)
DECIMALS = tuple(len(str(n)) - 1 for n in PER_UNIT)


def refuse_newer(form: int) -> None:
    """Raise RecordError for a form of export that this program does not know yet."""
    if form > FORMAT:
        raise RecordError("the file was written by a newer kilnctl; install that one to read it")


def state_code(state: str) -> int:
    """Return the number of a run state. Raises ValueError for an unknown one."""
    return STATES.index(state)


def quality_code(quality: Quality) -> int:
    """Return the number of a reading's quality."""
    return QUALITIES.index(quality)
