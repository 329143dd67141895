"""The words and marks of a time axis."""

import pytest

from kilnctl.report.charts.time_axis import merged, since_start


@pytest.mark.parametrize(("at_s", "words"), [(0.0, "0:00"), (59.0, "0:01"), (90_061.0, "25:01")])
def test_a_time_of_the_heat_is_hours_and_minutes(at_s: float, words: str) -> None:
    assert since_start(at_s) == words


def test_gaps_that_no_eye_can_part_are_one() -> None:
    gaps = ((0.0, 10.0), (12.0, 20.0), (100.0, 110.0))
    assert merged(gaps, 5.0) == [(0.0, 20.0), (100.0, 110.0)]
    assert merged((), 5.0) == []
