"""Nobody is told to pull, to press or to look before the heat is really on.

At a strange panel "pull the data cable now" came before the run command had gone out; the cable was pulled
at once, the lamp had never been lit, and "0 s" passed. The drop test said "the heat is held" three seconds
before its meter showed any current.
"""

from dataclasses import replace
from types import SimpleNamespace

import pytest
from maker import Maker

from kilnctl.clock import VirtualClock
from kilnctl.commissioning.cable_pulled import cable_pulled
from kilnctl.commissioning.drills import drills
from kilnctl.commissioning.timer_by_lamp import by_lamp
from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.permits.dead_man_test import Finding
from kilnctl.rehearsal.virtual_io import VirtualIO
from simulator.boards.board import Board
from simulator.oven import ovens

OVEN = load_oven(home.bundled("ovens") / "tempering-oven.toml")
SAYS_ON = {
    "hold": "pull the data cable now",
    "starved": "the lamp must be on now",
    "contactor_dropped": "the relay is held",
    "stop_button": "the heat is held",
    "limit_opened": "the heat is held",
}


class Late(VirtualIO):
    """Its output reads on so many seconds after it was first asked for; it may never do."""

    late_s = 0.0
    first_s = time = None

    def drive(self, request):
        if request.on and self.first_s is None:
            self.first_s = self.time.now_s()
        return super().drive(request)

    def scan(self, at_s):
        scan = super().scan(at_s)
        self.on = bool(scan.heat_on) and self.first_s is not None and at_s - self.first_s >= self.late_s
        return replace(scan, heat_on=self.on)


def drilled(name, late_s):
    clock, told = VirtualClock(), []
    oven_io = Late(OVEN, Board(ovens.tempering_oven(3), seed=3), clock)
    oven_io.late_s, oven_io.on, oven_io.time = late_s, False, clock
    found = drills.run(name, OVEN, oven_io, clock, tell=lambda line: told.append((line, oven_io.on)))
    return found, [on for line, on in told if SAYS_ON[name] in line]


@pytest.mark.parametrize("late_s", [0.0, 3.0, 8.0])
@pytest.mark.parametrize("name", SAYS_ON)
def test_a_person_is_told_that_it_is_on_once_it_reads_on(name: str, late_s: float) -> None:
    assert drilled(name, late_s)[1] == [True]


@pytest.mark.parametrize("name", SAYS_ON)
def test_heat_that_never_comes_is_never_told_to_be_on(name: str) -> None:
    found, told = drilled(name, 1e9)
    assert told == []
    assert not found.passed
    assert "nothing is proved" in found.line


def shop_of(found: Finding, said: str, looks: bool = True):
    person = Maker({"stay on": said})
    heater = SimpleNamespace(kind="switch")
    oven = SimpleNamespace(
        timers_witness="", seen_by_timer=False, timer=False, output=SimpleNamespace(heater=heater)
    )
    drill = lambda name, _step: found if name == "hold" else Finding(looks, None, "starved")  # noqa: E731
    return SimpleNamespace(person=person, drill=drill, tell=person.say, oven=oven), person


def test_a_lamp_that_stayed_on_for_no_time_was_not_on() -> None:
    shop, person = shop_of(Finding(True, 12.0, "silent to the end"), "0 s")
    why = cable_pulled(shop, SimpleNamespace())[1]
    assert "nothing is proved" in why
    assert "WRONG" in person.text


def test_no_seconds_are_asked_for_where_the_heat_was_not_on() -> None:
    shop, person = shop_of(Finding(False, None, "the heat was not on: nothing is proved"), "8 s")
    assert cable_pulled(shop, SimpleNamespace())[1]
    assert "stay on" not in person.text


def test_no_seconds_before_a_timer_drops_are_no_timer_that_holds_it_up() -> None:
    shop, _ = shop_of(Finding(True, 12.0, "silent to the end"), "0 s")
    step = SimpleNamespace(accepts=lambda value: value <= 10.5)
    assert not by_lamp(shop, step).passed
