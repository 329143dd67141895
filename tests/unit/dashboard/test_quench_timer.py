"""The count from the oven to the oil."""

import dataclasses
from itertools import pairwise

from dashboard.feed import ready

from kilnctl.dashboard.quench_timer import QuenchTimer, bells


def test_seven_seconds_in_the_oil_are_called_within_a_fifth_of_a_second() -> None:
    """Looked at ten times a second: one bell each second, three at 7.0 +- 0.2 s, as the job asks."""
    looks = [i * 0.1 + 0.03 for i in range(100)]
    calls = [(b, bells(a, b, 7.0)) for a, b in pairwise(looks)]
    triple = [at for at, n in calls if n == 3]
    assert len(triple) == 1
    assert abs(triple[0] - 7.0) <= 0.2
    assert sum(n == 1 for _, n in calls) in (8, 9)


def test_the_count_goes_through_its_stages() -> None:
    s = dataclasses.replace(ready(), hand_times_s={"transfer": 5.0, "bath": 7.0}, medium="fast oil")
    hands = QuenchTimer.begin(s, 10.0)
    assert not hands.late(14.9)
    assert hands.late(15.1)
    stages = []
    state: QuenchTimer | None = hands
    while state is not None:
        stages.append((state.word, state.allowed_s))
        state = state.next(20.0)
    assert stages == [("transfer", 5.0), ("oil", 7.0), ("clamp", None), ("hand-warm", None)]
