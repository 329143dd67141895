"""Whoever stops the look at an instrument's display leaves no set-point of ours in it."""

import pytest

from kilnctl.commissioning.bus_check import check_bus
from kilnctl.commissioning.operator import Later
from kilnctl.config.device_keys import TextDevice
from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.devices.probing.diagnoses import Diagnosis


class Bench:
    """A probe that finds all well."""

    parked = False
    oven = load_oven(bundled("ovens") / "tempering-oven.toml")
    searched = False

    def nothing(self) -> list[Diagnosis]:
        return []

    ports = echo = answers = identities = places = switches = nothing

    answering: tuple[str, ...] = ()

    def still_answer(self) -> list[str]:
        return list(self.answering)

    def power_up(self) -> Diagnosis:
        return Diagnosis("power-up state", True, "Every output came up off.")

    def parked_first(self) -> str:
        return ""

    def low_set_point(self) -> str:
        return "1 °C (33.8 °F)"

    def park(self) -> bool:
        self.parked = True
        return True

    def strangers(self, addresses: object) -> list[Diagnosis]:
        self.searched = True
        return []


class Leaves:
    def say(self, line: str) -> None: ...

    def key(self, question: str) -> bool:
        if "display" in question:
            raise Later
        return True


def test_a_person_who_stops_at_the_display_leaves_the_set_point_parked() -> None:
    bench = Bench()
    with pytest.raises(Later):
        check_bus(bench, Leaves())
    assert bench.parked


class Looks:
    """Somebody who answers yes; a set-point is nothing that this bench has."""

    def __init__(self) -> None:
        self.said: list[str] = []

    def say(self, line: str) -> None:
        self.said.append(line)

    def key(self, question: str) -> bool:
        return True


@pytest.mark.parametrize(("serial", "modbus"), [(True, True), (True, False), (False, True), (False, False)])
def test_only_what_is_tried_is_said_to_be(serial: bool, modbus: bool) -> None:
    """A text board on a socket was told of other speeds, and of addresses of its line."""
    bench, person = Bench(), Looks()
    (port, told), (device, board) = next(iter(bench.oven.port.items())), next(iter(bench.oven.device.items()))
    path = told.path if serial else "tcp://127.0.0.1:502"
    board = board if modbus else TextDevice.model_construct(port=port)
    bench.oven = bench.oven.model_copy(
        update={"port": {port: told.model_copy(update={"path": path})}, "device": {device: board}}
    )
    check_bus(bench, person)
    said = " ".join(person.said)
    assert ("speeds" in said, "addresses" in said, bench.searched) == (serial, modbus, modbus)


class Answers(Looks):
    """Somebody who answers as told where a question has a word, else yes."""

    def __init__(self, **answers: bool) -> None:
        super().__init__()
        self._answers = answers

    def key(self, question: str) -> bool:
        return next((yes for word, yes in self._answers.items() if word in question), True)


def test_a_display_that_shows_no_set_point_in_stand_by_is_no_wrong_scale() -> None:
    """An honest n said that scale or unit was wrong."""
    found = check_bus(Bench(), Answers(display=False, none=True))
    assert all(one.good for one in found)
    assert any("Not compared" in one.say for one in found)


def test_a_display_that_shows_another_number_is_one() -> None:
    bench = Bench()
    found = check_bus(bench, Answers(display=False, **{"no set-point": False}))
    assert "scale or unit" in next(one.say for one in found if not one.good)
    assert bench.parked


def test_a_board_that_goes_on_answering_was_never_off() -> None:
    """A y alone was believed, and the state after a power-up that never was passed."""
    bench = Bench()
    bench.answering = ("relays",)
    (found,) = check_bus(bench, Answers())
    assert not found.good
    assert "relays still answers: its supply was never off" in found.say
    assert "USB" in found.say


TIMER = load_oven(bundled("ovens") / "tempering-oven.toml")
assert TIMER.dead_man is not None
TIMER = TIMER.model_copy(update={"dead_man": TIMER.dead_man.model_copy(update={"then": 0, "shown": False})})


@pytest.mark.parametrize(
    ("timer", "restores", "drops", "good", "word"),
    [
        (False, False, None, True, ""),
        (False, True, False, False, "come back with the supply"),
        (False, True, True, True, "drops them again"),
        (True, True, None, True, "Only the timer relay"),
    ],
)
def test_outputs_that_were_off_before_prove_nothing_of_a_board_that_restores_them(
    timer: bool, restores: bool, drops: bool | None, good: bool, word: str
) -> None:
    """The look after power-up could not fail: the outputs were off before, and restored so."""
    bench, answers = Bench(), {"off whatever": not restores}
    if timer:
        bench.oven = TIMER
        assert bench.oven.timer
    person = Answers(**answers, **({} if drops is None else {"by itself after that": drops}))
    found = check_bus(bench, person)
    assert all(one.good for one in found) is good
    assert word in " ".join(person.said)


def test_what_came_up_on_is_wrong_whatever_the_list_says() -> None:
    class On(Bench):
        def power_up(self) -> Diagnosis:
            return Diagnosis("power-up state", False, "heater came up ON.")

    asked: list[str] = []

    class Hears(Looks):
        def key(self, question: str) -> bool:
            asked.append(question)
            return True

    check_bus(On(), Hears())
    assert not [question for question in asked if "whatever" in question]
