"""Things that happen at a time: in its order, and in that of their putting down."""

import math

from simulator.boards.schedule import Script


def test_acts_happen_in_the_order_of_their_time() -> None:
    script, seen = Script(), list[str]()
    for at_s, name in ((5.0, "late"), (1.0, "first"), (1.0, "second")):
        script.put(at_s, lambda name=name: seen.append(name))
    while script.next_s <= 5.0:
        script.happen()
    assert seen == ["first", "second", "late"]
    assert math.isinf(script.next_s)
