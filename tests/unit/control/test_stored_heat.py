"""What a warm oven still holds: a first-order slope times its time is what is to come (textbook)."""

import math

import pytest

from kilnctl.control.stored_heat import StoredHeat
from kilnctl.model.oven_model import Coasted

LATE_S, STORED_K = 460.0, 30.0
COASTS = (Coasted(150.0, LATE_S), Coasted(250.0, LATE_S))


def reads_c(at_s):
    """Return the reading of an oven that rises from 190 degC by what is stored in it."""
    return 190.0 + STORED_K * (1.0 - math.exp(-at_s / LATE_S))


def watched(stored, foreseen_k=0.0):
    """Return for how many seconds it is watched."""
    at_s = 0
    while not stored.over and stored.watches(reads_c(at_s), foreseen_k, 1.0):
        at_s += 1
    return at_s


def test_what_is_stored_in_a_late_oven_is_seen_before_the_heat_and_is_still_to_come_after_it():
    stored = StoredHeat(COASTS)
    at_s = watched(stored)
    assert 0.1 * LATE_S < at_s < 0.15 * LATE_S
    assert stored.to_come_k == pytest.approx(190.0 + STORED_K - reads_c(at_s), rel=0.1)
    for t in range(1, 301):
        stored.passes(reads_c(at_s + t), 1.0)
    assert stored.to_come_k == pytest.approx(190.0 + STORED_K - reads_c(at_s + 300), rel=0.1)
    assert stored.over


def test_what_does_not_come_is_not_waited_for():
    stored = StoredHeat(COASTS)
    at_s = watched(stored)
    for _ in range(150):
        stored.passes(reads_c(at_s), 1.0)
    assert stored.to_come_k < 1.0


def test_what_the_estimate_foresees_by_itself_is_not_counted_twice():
    stored = StoredHeat(COASTS)
    watched(stored, foreseen_k=20.0)
    assert stored.to_come_k < 10.0


def test_neither_a_quick_oven_nor_a_cold_one_waits():
    quick, cold = StoredHeat((Coasted(150.0, 28.0),)), StoredHeat(COASTS)
    cold.none()
    for stored in (quick, cold, StoredHeat(())):
        assert watched(stored) == 0
        assert stored.to_come_k == 0.0


def test_of_an_oven_that_falls_nothing_is_to_come():
    stored = StoredHeat(COASTS)
    for at in range(100):
        stored.watches(190.0 - 0.05 * at, 0.0, 1.0)
    assert stored.to_come_k == 0.0
