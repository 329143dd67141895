"""Uniformity of a chamber: a worked example of the job, and the class bands as published."""

import pytest

from kilnctl.care.survey import CLASS_BANDS_K, deviations, orientation
from kilnctl.errors import ConfigError

SURVEY = (
    ("front left", 826.1),
    ("front right", 829.4),
    ("back left", 833.8),
    ("back right", 831.0),
    ("middle", 827.2),
)


def test_a_survey_gives_its_band() -> None:
    low_k, high_k = deviations(830.0, SURVEY)  # J30
    assert (round(low_k, 1), round(high_k, 1)) == (-3.9, 3.8)
    words = orientation(low_k, high_k)
    assert "inside ±6 K" in words
    assert "outside ±3 K" in words
    assert "orientation only" in words


def test_four_positions_are_no_survey() -> None:
    with pytest.raises(ConfigError, match="5 different"):
        deviations(830.0, (*SURVEY[:4], SURVEY[0]))


def test_the_class_bands_are_those_published() -> None:
    # SAE AMS 2750F classes 1 to 6 as printed by a furnace builder (secondary copy).
    assert list(CLASS_BANDS_K.values()) == [3, 6, 8, 10, 14, 28]
