"""Calibration, fixed points and uniformity: worked examples of the job, ITS-90, invented cooling curves."""

import numpy as np
import pytest

from kilnctl.care.calibration import (
    FIXED_POINTS_C,
    corrections_of,
    drifting,
    fitted,
    insist,
    largest_error_k,
    plateau_c,
)
from kilnctl.errors import ConfigError
from kilnctl.logbook.entries import Calibration, add
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook


def measured(points: tuple[tuple[float, float], ...]) -> Calibration:
    """Return the entry of a calibration by these points."""
    found = fitted(points)
    return Calibration("o", "process", found.gain, found.offset_c, points, 0.5, None, "ref")


def test_two_points_give_the_line_of_the_worked_example() -> None:
    # J14: by hand, gain = (830 - 218) / (834 - 219.5), offset = 830 - gain * 834.
    found = fitted(((219.5, 218.0), (834.0, 830.0)))
    assert found.gain == pytest.approx(0.99593, abs=5e-6)
    assert found.offset_c == pytest.approx(-0.607, abs=5e-4)
    assert found.corrected_c(870.0) == pytest.approx(865.9, abs=0.05)
    assert found.corrected_c(219.5) == pytest.approx(218.0)


@pytest.mark.parametrize(
    ("low", "high", "used_to_c", "word"),
    [
        ((219.5, 218.0), (842.0, 830.0), 900.0, "replace the sensor"),  # 12 K at the upper point
        ((219.5, 218.0), (837.5, 830.0), 1100.0, "1100"),  # 7.5 K at the point, over 10 K where it is used
        ((200.0, 199.0), (290.0, 289.0), 900.0, "--used-to"),
        ((200.0, 199.0), (205.0, 204.0), 300.0, "10 K apart"),
        ((834.0, 830.0), (219.5, 218.0), 900.0, "low one first"),
    ],
)
def test_a_correction_that_would_hide_a_bad_sensor_is_refused(
    low: tuple[float, float], high: tuple[float, float], used_to_c: float, word: str
) -> None:
    with pytest.raises(ConfigError, match=word):
        insist(measured((low, high)), used_to_c, used_to_c)


def test_the_largest_error_keeps_its_sign() -> None:
    assert largest_error_k([(834.0, 830.0), (219.5, 218.0)]) == -4.0


def test_the_fixed_points_are_those_of_its_90() -> None:
    # ITS-90 (Preston-Thomas 1990), freezing points: Sn 231.928, Zn 419.527, Al 660.323 degC.
    assert FIXED_POINTS_C == {"tin": 231.928, "zinc": 419.527, "aluminium": 660.323}


def _cooling(plateau: float, noise_k: float = 0.05) -> tuple[np.ndarray, np.ndarray]:
    """A melt that cools at 6 K/min, holds for four minutes, then cools on (invented)."""
    at_s = np.arange(0.0, 900.0)
    fall = np.where(at_s < 300, at_s, np.where(at_s < 540, 300.0, at_s - 240.0))
    dice = np.random.default_rng(7)
    return at_s, plateau + 30.0 - 0.1 * fall + dice.normal(0, noise_k, len(at_s))


def test_a_plateau_is_found_and_gives_the_correction() -> None:
    found = plateau_c(*_cooling(229.4), expected_c=FIXED_POINTS_C["tin"])
    assert FIXED_POINTS_C["tin"] - found == pytest.approx(2.5, abs=0.1)  # J37


def test_without_a_plateau_there_is_no_correction() -> None:
    at_s = np.arange(0.0, 900.0)
    with pytest.raises(ConfigError, match="no plateau"):
        plateau_c(at_s, 260.0 - 0.1 * at_s, 231.9)
    with pytest.raises(ConfigError, match="never comes near"):
        plateau_c(at_s, 100.0 - 0.01 * at_s, 231.9)


def test_only_a_drift_to_one_side_is_a_drift() -> None:
    assert drifting([-0.5, -1.5, -2.5])
    assert drifting([9.0, 0.5, 1.5, 2.5])
    assert not drifting([1.5, 2.5])
    assert not drifting([0.5, -1.5, 2.5])
    assert not drifting([2.5, 1.5, 0.5])
    assert not drifting([-0.5, 0.5, 1.5])


def test_the_newest_calibration_of_each_sensor_counts() -> None:
    with Logbook(None) as book:
        for sensor, offset_c in (("process", -0.5), ("second", 1.0), ("process", -0.7)):
            add(book, Calibration("o", sensor, 1.0, offset_c, (), 0.5, None, "ref"), 0.0)
        found = corrections_of(Reader(book.connection), "o")
    assert {sensor: (number, c.offset_c) for sensor, (number, c) in found.items()} == {
        "process": (3, -0.7),
        "second": (2, 1.0),
    }
