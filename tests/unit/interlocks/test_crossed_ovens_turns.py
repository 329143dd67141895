"""Two ovens whose first heats are given one at a time, on ovens of two lines of arithmetic each."""

import pytest

from kilnctl.interlocks.crossed_ovens import MOST_TURNS, PROVED_K, TURN_S, FirstAnswer
from kilnctl.readings import Neighbour

RISE_K_PER_S = 0.2


class Toy:
    """An oven that gets warmer by what feeds it; `fed_by` is its own index where nothing is crossed."""

    def __init__(self, name, reads_c=20.0):
        self.turns, self.name, self.reads_c = FirstAnswer(name), name, reads_c
        self.wants, self.heated, self.before_c = True, False, reads_c

    def told(self):
        rise_k = self.reads_c - self.before_c
        told = self.turns
        return Neighbour(rise_k, float(self.heated), 0.0, None, False, False, False, False, False,
                         told.unproven, told.turn, told.turns)  # fmt: skip


def let(ovens, seconds, fed_by=(0, 1), rate=RISE_K_PER_S):
    """Let seconds go by, both ovens looking at each other; return for how long both were heated at once."""
    both_s = 0
    for _ in range(seconds):
        for oven in ovens:
            others = {o.name: o.told() for o in ovens if o is not oven}
            may = oven.turns.step(oven.reads_c, oven.wants, oven.heated, others, 1.0)
            oven.heated = oven.wants and may
        for oven, feeder in zip(ovens, fed_by, strict=True):
            oven.reads_c += rate * ovens[feeder].heated
        both_s += all(oven.heated for oven in ovens)
    return both_s


def test_one_begins_and_the_other_waits_until_the_first_has_answered():
    left, right = ovens = Toy("left"), Toy("right")
    proved_s = int(PROVED_K / RISE_K_PER_S)
    assert let(ovens, proved_s) <= 1
    assert let(ovens, 10) >= 8
    assert left.reads_c > 24.0
    assert right.reads_c < 23.0


def test_an_oven_alone_never_waits_and_has_answered_when_another_comes():
    left, late = Toy("left"), Toy("late")
    assert let([left], 60, (0,)) == 60
    assert let([left, late], 20) == 20


def test_crossed_ovens_are_never_heated_together_while_nothing_answers():
    """Neither rises by its own heat; who gave way lets the other one show it."""
    ovens = Toy("left"), Toy("right")
    assert let(ovens, int(2 * TURN_S), (1, 0), rate=0.01) <= 2
    assert [oven.turns.turns for oven in ovens] == [1, 0]  # left has given way, right has its turn


def test_nobody_waits_for_ever():
    """Two ovens that only hold what they have show nothing in their turns; then both go on."""
    ovens = Toy("left"), Toy("right")
    let(ovens, int(2 * MOST_TURNS * TURN_S) + 10, rate=0.0)
    assert let(ovens, 60, rate=0.0) == 60


@pytest.mark.parametrize("name", ["left", "right"])
def test_one_that_wants_no_heat_keeps_nobody_waiting(name):
    ovens = Toy("left"), Toy("right")
    idle = next(o for o in ovens if o.name == name)
    other = next(o for o in ovens if o is not idle)
    let(ovens, 5)
    idle.wants = False
    let(ovens, 2)
    assert not idle.heated
    assert other.heated


def test_an_answer_while_the_other_one_warms_up_unheated_is_none():
    """A door that was shut makes a sensor rise: with the other oven rising too it proves nothing."""
    told = FirstAnswer("left")
    warms = {"right": Neighbour(rise_k=4.0, heat=0.0)}
    for second in range(60):
        told.step(20.0 + second, True, True, warms, 1.0)
    assert told.unproven
    told.step(90.0, True, True, {"right": Neighbour(rise_k=0.3, heat=0.0)}, 1.0)
    assert not told.unproven


@pytest.mark.parametrize(("heat", "answered"), [(0.0, False), (0.5, True), (1.0, True)])
def test_another_oven_that_gets_warmer_by_its_own_heat_takes_no_answer_away(heat, answered):
    turns = FirstAnswer("left")
    warms = Neighbour(9.0, heat, 0.0, None, False, False, False, False, False, False, False, 0)
    for second in range(20):
        turns.step(20.0 + 0.5 * second, True, True, {"right": warms}, 1.0)
    assert turns.unproven is not answered
