"""Water boils near 100 degC at sea level (common knowledge); the pace beside it is of numbers of its own."""

from kilnctl.model.drying import EDGE_S, Boiling

GOAL_C = 218.0


def stood_s(then: float, goal_c: float | None = GOAL_C, bends_c: float = 100.0, for_s: int = 900) -> int:
    """Return for how many seconds a reading that rises by 0.2 K/s to a bend, and then so fast, stands."""
    boiling, reads_c, stood = Boiling(), 20.0, 0
    rises_s = int((bends_c - 20.0) / 0.2)
    for s in range(rises_s + for_s):
        reads_c += 0.2 if s < rises_s else then
        stood += boiling.see(reads_c, goal_c, 1.0)
    return stood


def test_a_reading_that_bends_at_100_degrees_and_creeps_on_stands_for_ten_minutes_at_most():
    assert stood_s(0.01, for_s=300) > 250
    assert stood_s(0.0) == 600


def test_what_falls_as_with_a_dead_element_rises_on_or_is_near_its_goal_does_not():
    assert stood_s(-0.05) < 40
    assert stood_s(0.12) == 0
    assert stood_s(0.0, goal_c=110.0) == 0
    assert stood_s(0.0, goal_c=None) == 0


def test_it_is_asked_where_water_boils_and_nowhere_else():
    assert stood_s(0.0, bends_c=85.0) == 0
    assert stood_s(0.0, bends_c=130.0) == 0


def slows_down_s(boiling: Boiling) -> int:
    """Return for how long a dry oven stands whose pace falls from 0.46 to 0.24 K/s on its way to 115 °C."""
    reads_c, stood = 20.0, 0
    while reads_c < 115.0:
        reads_c += 0.46 - 0.22 * min(max(reads_c - 50.0, 0.0) / 65.0, 1.0)
        stood += boiling.see(reads_c, GOAL_C, 1.0)
    return stood


def test_a_dry_oven_that_slows_down_over_minutes_has_no_sharp_edge():
    """A sound oven off by a fifth in everything was handed to a PI for it, and passed 150 °C by 15 K."""
    assert slows_down_s(Boiling()) > 0
    assert slows_down_s(Boiling(EDGE_S)) == 0
    sharp = Boiling(EDGE_S)
    assert sum(sharp.see(min(20.0 + 0.3 * s, 100.0 + 0.002 * s), GOAL_C, 1.0) for s in range(900)) > 60
