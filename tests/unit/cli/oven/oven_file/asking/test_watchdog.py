"""What is asked of a watchdog: a place of its own, the heater's command, what arms it, a panel's mode."""

import pytest

from kilnctl.cli.oven.oven_file.asking.questions import OWN, RENEWED, TIMER, TOLD_STANDS_BY, WRITTEN
from kilnctl.cli.oven.oven_file.asking.watchdog import Watchdog


def person(*said: bool, holds: str = "6 s") -> tuple[Watchdog, list[str]]:
    asked, answers = [], iter(said)

    def yes(question: str) -> bool:
        asked.append(question)
        return next(answers)

    return Watchdog(yes, lambda path, like: holds), asked


def test_the_heaters_own_command_is_a_dead_man() -> None:
    watchdog, asked = person(True, True)
    assert not watchdog.has_its_own_place({"write": 10}, {}, line_board=False)
    assert watchdog.holds == {"kind": "pulse", "holds": "6 s"}
    assert OWN in asked[-1]


def test_a_power_that_must_come_again_stays_a_power() -> None:
    watchdog, _ = person(True, True)
    watchdog.has_its_own_place({"write": 10}, {"kind": "duty"}, line_board=False)
    assert watchdog.holds["kind"] == "duty"


@pytest.mark.parametrize("beside", [True, False])
def test_a_command_that_is_known_to_hold_the_heat_is_not_asked_for_again(beside: bool) -> None:
    watchdog, asked = person(beside)
    heater = {"kind": "duty", "holds": "9 s"}
    assert watchdog.has_its_own_place({"write": 10}, heater, line_board=False) is beside
    assert len(asked) == 1
    assert watchdog.holds == {}


def test_a_timer_relay_and_a_line_board_are_not_asked_for_the_command() -> None:
    for example, line in (({"then": 0}, False), ({"write": 10}, True)):
        watchdog, asked = person(True)
        assert watchdog.has_its_own_place(example, {}, line)
        assert len(asked) == 1
    assert TIMER not in asked[0]


@pytest.mark.parametrize(
    ("link_loss", "said", "place"), [("holds", [False], False), ("drops", [False, True], True)]
)
def test_a_panel_is_asked_what_it_takes_for_a_sign_of_life(link_loss: str, said: list, place: bool) -> None:
    watchdog, asked = person(*said)
    heater = {"kind": "set-point", "link_loss": link_loss}
    assert watchdog.has_its_own_place({"write": 10}, heater, line_board=False) is place
    assert RENEWED in asked[0]
    assert all(WRITTEN in question for question in asked[1:])
    assert watchdog.holds == {}


@pytest.mark.parametrize("link_loss", ["holds", "drops"])
def test_a_set_point_that_must_come_again_is_asked_for_its_time(link_loss: str) -> None:
    watchdog, asked = person(True, False, holds="10 s")
    heater = {"kind": "set-point", "link_loss": link_loss}
    assert not watchdog.has_its_own_place({"write": 10}, heater, line_board=False)
    assert TOLD_STANDS_BY in asked[1]
    assert watchdog.holds == {"kind": "set-point", "holds": "10 s", "link_loss": "drops"}


def test_a_mode_that_falls_to_stand_by_is_read_back() -> None:
    watchdog, _ = person(True)
    dead_man = {"device": "panel", "table": "holding", "register": 272, "write": 1}
    file = {"output": {"heater": {"kind": "set-point"}}, "dead_man": dead_man}
    assert watchdog.mode_read_back(file)["back"] == {"device": "panel", "table": "holding", "register": 272}
    assert dead_man["zero_drops"] is True


def test_what_arms_it_is_asked_until_there_is_no_more() -> None:
    watchdog, _ = person(True, True, False)
    assert watchdog.arms(lambda before: {"register": 10 + before}) == {
        "arm": [{"register": 10}, {"register": 11}]
    }


@pytest.mark.parametrize(
    ("heater", "full", "said", "made"),
    [
        ({}, 100, [True], {"on": 100, "kind": "duty"}),
        ({}, 100, [False], {"on": 100}),
        ({}, 1, [], {}),
        ({"off": 5}, 100, [], {}),
        ({"kind": "pulse"}, 30, [], {}),
    ],
)
def test_a_high_number_of_full_heat_may_be_a_power(heater: dict, full: int, said: list, made: dict) -> None:
    watchdog, _ = person(*said)
    assert watchdog.power(heater, full) == made
