"""Two ovens beside each other: the judge finds a neighbour that is touched, and what is crossed is found."""

import pytest

from kilnctl.rehearsal import second_oven
from kilnctl.rehearsal.lateness import CROSSED
from kilnctl.rehearsal.second_oven import room_of
from tests.faults.scenarios import scenarios


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1, 2, 5])
def test_off_and_a_fault_do_not_touch_the_other_oven(seed: int) -> None:
    assert room_of(seed, scenarios()).wrong == ""


@pytest.mark.slow
def test_an_oven_that_coasts_after_its_off_does_not_trip_the_other() -> None:
    assert room_of(0, scenarios()).wrong == ""


@pytest.mark.slow
def test_an_off_that_ends_both_is_found(monkeypatch) -> None:
    judged = second_oven._judged

    def both(seed, what, one, two, at_s):
        one.runner.off = two.runner.off
        two_off = two.runner.off
        two.runner.off = lambda why="": (two_off(why), type(one.runner).off(one.runner, why))
        return judged(seed, what, one, two, at_s)

    monkeypatch.setattr(second_oven, "_judged", both)
    assert "has ended the first" in room_of(1, scenarios()).wrong


@pytest.mark.slow
def test_crossed_ovens_are_both_cut() -> None:
    room = room_of(4, scenarios())
    assert room.what in CROSSED
    assert room.outcomes == ("tripped", "tripped")
    assert room.wrong == ""
