"""What a survey means for another goal: worked by hand."""

import pytest

from kilnctl.model.surveyed import Surveyed, hotter


def test_what_lies_between_two_places_goes_with_the_rise_over_the_room():
    found = hotter((Surveyed(220.0, 40.0, 60.0),), 320.0, 20.0)
    # 300 K for 200.
    assert found == Surveyed(320.0, pytest.approx(60.0), pytest.approx(90.0), held_c=220.0)
    assert found.carried
    assert not hotter((Surveyed(220.0, 40.0),), 229.0, 20.0).carried
    assert hotter((Surveyed(220.0, 40.0),), 220.0, 20.0).way_k is None


def test_the_nearest_survey_counts_and_a_far_one_says_nothing():
    surveys = (Surveyed(829.0, 5.0), Surveyed(205.0, 12.0), Surveyed(260.0, 20.0))
    assert hotter(surveys, 210.0, 20.0).hot_k == pytest.approx(12.0 * 190 / 185)
    assert hotter(surveys[:1], 218.0, 20.0) is None
    assert hotter((), 218.0, 20.0) is None
    assert hotter(surveys, 15.0, 20.0) is None
