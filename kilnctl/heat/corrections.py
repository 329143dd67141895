"""Calibrations in force, applied to what was read: from here on everybody sees the corrected value."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from kilnctl.care.calibration import Correction
from kilnctl.readings import Reading, Scan

SENSORS = ("process", "second", "load")


def corrected(scan: Scan, corrections: Mapping[str, Correction]) -> Scan:
    """Return a scan with its temperatures corrected; `raw` stays what came off the wire."""
    changed: dict[str, Any] = {}
    for name in SENSORS:
        reading: Reading | None = getattr(scan, name)
        if name in corrections and reading is not None and reading.value is not None:
            changed[name] = replace(reading, value=corrections[name].corrected_c(reading.value))
    return replace(scan, **changed)
