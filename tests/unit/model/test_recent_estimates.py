"""The beliefs of the last seconds: the oldest of some twenty seconds is what comes back, once."""

import numpy as np

from kilnctl.model.oven_model import at_rest
from kilnctl.model.recent_estimates import Belief, Beliefs


def test_the_oldest_of_twenty_seconds_comes_back_and_only_once():
    beliefs = Beliefs()
    assert beliefs.take_back() is None
    for age_s in range(0, 105, 5):
        beliefs.keep(Belief(float(age_s), 0.0, at_rest(20.0), np.zeros((1, 1)), [0.0], 0.0, 1.0))
    was = beliefs.take_back()
    assert was is not None
    assert was.age_s == 80.0
    assert beliefs.take_back() is None
