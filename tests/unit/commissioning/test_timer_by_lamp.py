"""The contact of a timer relay that only a person sees: where to look is said, and a look is done again."""

from types import SimpleNamespace

import pytest
from maker import Maker

from kilnctl.commissioning.procedures import dead_man
from kilnctl.commissioning.timer_by_lamp import LAMP_AGAIN, LAMP_TIMES
from kilnctl.permits.dead_man_test import Finding


class AtTheLamp(Maker):
    """Misses the lamp so many times."""

    def __init__(self, misses: int) -> None:
        super().__init__({"stay on": "5 s"})
        self.misses = misses

    def key(self, question: str) -> bool:
        super().key(question)
        if "go out by itself" not in question:
            return True
        self.misses -= 1
        return self.misses < 0


def walked(misses: int):
    drilled = []

    def drill(name, _step):
        drilled.append(name)
        return Finding(name != "hold", 12.0 if name == "hold" else 5.0, "silent for 12 s")

    person = AtTheLamp(misses)
    shop = SimpleNamespace(
        person=person,
        drill=drill,
        tell=person.say,
        oven=SimpleNamespace(dead_man_seen=False, timer=True, timers_witness="", seen_by_timer=False),
    )
    step = SimpleNamespace(accepts=lambda value: value <= 10.5)
    return dead_man(shop, step), person, drilled


@pytest.mark.parametrize("misses", range(LAMP_AGAIN + 1))
def test_a_look_that_was_missed_is_done_again(misses: int) -> None:
    result, person, drilled = walked(misses)
    assert result.passed
    # the reading before and after shows that the heater was isolated
    assert drilled == ["reading"] + ["starved"] * (LAMP_TIMES + misses) + ["hold", "bus", "reading"]
    first = next(i for i, said in enumerate(person.heard) if "Did the lamp" in said)
    before = " ".join(person.heard[:first])
    assert "behind the timer relay's contact" in before
    assert "The relay board's own light shows its coil" in before


def test_a_lamp_that_never_goes_out_fails_whoever_asks_for_more_looks() -> None:
    result, person, _ = walked(99)
    assert not result.passed
    assert "NO dead-man" in person.text
