"""The seconds that a person counted with the cable out: they count only if it stayed out for them."""

from types import SimpleNamespace

import pytest
from maker import Maker

from kilnctl.commissioning.cable_pulled import cable_pulled
from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.config.wiring import DeadMan
from kilnctl.permits.dead_man_test import Finding

OVEN = load_oven(home.bundled("ovens") / "tempering-oven.toml")


def counted(found: Finding, said: str, no: str = "nothing", oven=OVEN):
    person = Maker({"stay on": said}, no=no)
    shop = SimpleNamespace(oven=oven, person=person, drill=lambda _name, _step: found)
    return cable_pulled(shop, SimpleNamespace()), person


EDGES = {"device": "board", "register": 9, "write": 1, "then": 0, "drops_after": "5 s"}
TIMED = OVEN.model_copy(update={"dead_man": DeadMan.model_validate(EDGES)})


@pytest.mark.parametrize(
    ("oven", "light"),
    [(OVEN, "the light of the heater's relay on the board"), (TIMED, "the timer relay's light (or")],
)
def test_the_light_that_is_looked_at_is_named(oven, light: str) -> None:
    """ "Count the seconds until the lamp goes out": the heater's lamp is dead while it is isolated."""
    _, person = counted(OUT, "8 s", oven=oven)
    assert person.text.count(light) >= 2
    assert "while the lamp" not in person.text
    assert "did the lamp" not in person.text


OUT = Finding(False, 12.4, "the output did NOT read back as off: no reply")


def test_a_cable_that_stayed_out_leaves_the_seconds_as_they_were_counted() -> None:
    (counted_s, why), person = counted(OUT, "8 s")
    assert (counted_s, why) == (8.0, "")
    assert "WRONG" not in person.text


@pytest.mark.parametrize(("said", "good"), [("5 s", True), ("8.5 s", True), ("9 s", False), ("12 s", False)])
def test_a_lamp_that_went_out_after_the_cable_was_in_again_proves_nothing(said: str, good: bool) -> None:
    (_, why), person = counted(Finding(False, 9.2, "the line answered again after 9.2 s"), said)
    assert bool(why) is not good
    assert ("off was sent then" in person.text) is not good


def test_a_look_that_was_lost_with_the_cable_in_is_no_cable_out() -> None:
    (_, why), _ = counted(Finding(False, 1.1, "the line answered again after 1.1 s"), "0 s")
    assert why


def test_a_cable_that_is_not_plugged_in_again_ends_it() -> None:
    (_, why), _ = counted(OUT, "8 s", no="plugged in again")
    assert why == "the cable was not plugged in again"


@pytest.mark.parametrize(
    "found",
    [
        Finding(False, 0.0, "the line answered for all the half minute"),
        Finding(False, None, "off was asked at 11:12:13."),
        Finding(False, None, "the drill ended without a result: it gave no reason"),
    ],
)
def test_seconds_with_a_cable_that_nobody_knows_to_have_been_out_prove_nothing(found: Finding) -> None:
    """Another cable was pulled: the drill's own off put the lamp out at its end, and 8 s were a dead-man."""
    (_, why), person = counted(found, "8 s")
    assert "proves no dead-man" in why
    assert "WRONG" in person.text


def in_turn(found: list[Finding], said: str = "8 s", no: str = "nothing"):
    person, names = Maker({"stay on": said}, no=no), []
    shop = SimpleNamespace(oven=OVEN, person=person, drill=lambda name, _: names.append(name) or found.pop(0))
    return cable_pulled(shop, SimpleNamespace()), names, person


EARLY = Finding(False, None, "the heat was not on: nothing is proved")


def test_a_cable_that_was_pulled_too_early_costs_the_cable_part_alone() -> None:
    """The cable was pulled as the light came on, a line too early: the whole test was done again."""
    assert in_turn([EARLY, OUT])[:2] == ((8.0, ""), ["hold", "hold"])
    (_, why), names, _ = in_turn([EARLY, EARLY, EARLY, OUT])
    assert why
    assert names == ["hold"] * 3, "not for ever"
    (_, why), names, _ = in_turn([EARLY, OUT], no="cable part again")
    assert why
    assert names == ["hold"]


def test_no_seconds_were_counted_where_there_were_none_to_count() -> None:
    """ "0 s until the heat was off" stood in the list of what was proved."""
    assert in_turn([EARLY] * 3)[0][0] is None
