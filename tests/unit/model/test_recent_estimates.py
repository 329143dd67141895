"""The oldest belief of some twenty seconds comes back, once, with what was read since."""

import numpy as np

from kilnctl.model.oven_model import at_rest
from kilnctl.model.recent_estimates import Belief, Beliefs, Read


def test_the_oldest_of_twenty_seconds_comes_back_and_only_once():
    beliefs = Beliefs()
    assert beliefs.take_back() == (None, [])
    for age_s in range(105):
        beliefs.read(Read(float(age_s), 200.0, 0.5, 1.0))
        if age_s % 5 == 0:
            beliefs.keep(Belief(float(age_s), 0.0, at_rest(20.0), np.zeros((1, 1)), [0.0], 0.0, 1.0))
    was, since = beliefs.take_back()
    assert was is not None
    assert was.age_s == 80.0
    assert [read.age_s for read in since] == [float(age_s) for age_s in range(81, 105)]
    assert beliefs.take_back() == (None, [])
