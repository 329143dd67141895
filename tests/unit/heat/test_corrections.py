"""A calibration in force moves what everybody sees and leaves the raw count alone."""

import pytest

from kilnctl.care.calibration import fitted
from kilnctl.heat.corrections import corrected
from kilnctl.readings import Quality, Reading, Scan

# Worked example: reads 834.0 and 219.5 where the reference shows 830.0 and 218.0 (own arithmetic:
# gain 612 / 614.5 = 0.99593, offset 218 - 0.99593 * 219.5 = -0.607).
LINE = fitted(((219.5, 218.0), (834.0, 830.0)))


def test_a_correction_is_applied_to_its_sensor_only() -> None:
    scan = Scan(0.0, Reading.of(870.0, 0.0, 8700.0), False, second=Reading.of(870.0, 0.0))
    seen = corrected(scan, {"process": LINE})
    assert seen.process.value == pytest.approx(865.9, abs=0.05)
    assert seen.process.raw == 8700.0
    assert seen.second == scan.second


def test_a_bad_reading_stays_bad() -> None:
    bad = Reading.bad(Quality.OPEN, "open", 0.0)
    assert corrected(Scan(0.0, bad, False), {"process": LINE}).process == bad
