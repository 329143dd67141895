"""The pure functions of the protocol: the order of off, what is believed, what a latch and a mark say."""

import itertools
from dataclasses import replace

import pytest

from kilnctl.marks.protocol import (
    DAMAGED,
    EMPTY,
    Care,
    LatchWord,
    Slot,
    TripFinding,
    WriterSees,
    escalated,
    latch_word,
    why_no_heat,
    with_mark,
)
from kilnctl.readings import ResetClass


def whole(number: int, state: str) -> Slot:
    return Slot("whole", number, state)


@pytest.mark.parametrize(
    ("slots", "heated", "word"),
    [
        (None, False, LatchWord.FREE),
        (None, True, LatchWord.MISSING),
        ((EMPTY, EMPTY), False, LatchWord.FREE),
        ((EMPTY, EMPTY), True, LatchWord.TORN),
        ((whole(1, "free"), EMPTY), True, LatchWord.FREE),
        ((whole(1, "free"), whole(2, "armed")), True, LatchWord.ARMED),
        ((whole(3, "tripped"), whole(2, "armed")), True, LatchWord.TRIPPED),
        ((whole(3, "free"), whole(2, "armed")), True, LatchWord.FREE),
        ((whole(1, "free"), DAMAGED), False, LatchWord.TORN),
        ((DAMAGED, whole(2, "armed")), False, LatchWord.TORN),
        ((DAMAGED, whole(2, "tripped")), False, LatchWord.TRIPPED),
        ((DAMAGED, DAMAGED), False, LatchWord.TORN),
    ],
)
def test_what_a_latch_says(slots: tuple[Slot, ...] | None, heated: bool, word: LatchWord) -> None:
    assert latch_word(slots, heated) is word


def test_a_later_finding_raises_a_trip_and_never_lowers_it() -> None:
    first = TripFinding("over_temperature", "270 °C", ResetClass.B, heat_off=True)
    worse = escalated(first, TripFinding("rising_while_off", "still rising", ResetClass.C, heat_off=False))
    assert (worse.kind, worse.reason, worse.reset) == ("over_temperature", "270 °C", ResetClass.C)
    assert worse.heat_off is False
    assert worse.escalations == ("still rising",)
    again = escalated(worse, TripFinding("x", "still rising", ResetClass.A))
    assert again == worse


def test_a_mark_that_was_read_once_is_never_forgotten() -> None:
    """W5."""
    for torn, mine, lives in itertools.product((False, True), repeat=3):
        assert with_mark(torn, mine, lives, remembered=True) is Care.WATCH


def test_a_supervisor_cuts_what_is_its_own_or_nobodys() -> None:
    assert with_mark(torn=False, mine=True, owner_lives=True, remembered=False) is Care.WATCH
    assert with_mark(torn=False, mine=False, owner_lives=True, remembered=False) is Care.LEAVE
    assert with_mark(torn=False, mine=False, owner_lives=False, remembered=False) is Care.CUT
    assert with_mark(torn=True, mine=True, owner_lives=True, remembered=False) is Care.SAY


FREE = WriterSees(off=None, latch=LatchWord.FREE)


def test_heat_needs_all_of_it() -> None:
    assert why_no_heat(FREE) == ""
    assert why_no_heat(replace(FREE, mark=Care.WATCH)) == ""
    assert why_no_heat(replace(FREE, latch=LatchWord.ARMED, takes_up=True)) == ""


@pytest.mark.parametrize(
    "seen",
    [
        replace(FREE, off="off was asked at 14:05:03 by x"),
        replace(FREE, latch=LatchWord.ARMED),
        *(replace(FREE, latch=word, takes_up=True) for word in ("tripped", "torn", "missing")),
        *(replace(FREE, mark=care) for care in (Care.CUT, Care.LEAVE, Care.SAY)),
        replace(FREE, held_by="process 7"),
        replace(FREE, latch_stands=False),
        replace(FREE, supervised=False),
    ],
)
def test_no_heat_without_any_of_it(seen: WriterSees) -> None:
    assert why_no_heat(seen)
