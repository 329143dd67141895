"""The pure functions of the protocol: the order of off, what is believed, what a latch and a mark say."""

import itertools
from dataclasses import replace

import pytest

from kilnctl.marks.off_means import (
    Means,
    Off,
    Peer,
    exit_code,
    next_means,
    of_the_device,
    of_this_home,
    told_off,
)
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

A, B = frozenset({"a"}), frozenset({"b"})


def path(off: Off, **after: Off) -> list[Means]:
    """Follow an off to its end; `after` gives the state that a means leads to (by its name)."""
    went = []
    while (means := next_means(off)) is not Means.DONE:
        went.append(means)
        assert len(went) < 10
        off = after.get(means.name, off)._replace(used=(*off.used, means))
    return went


def test_the_stamp_is_always_first() -> None:
    for held, answered, named in itertools.product((False, True), repeat=3):
        assert next_means(Off(A, named, lock_held=held, answered=answered)) is Means.STAMP


def test_a_controller_that_answers_for_everything_is_enough() -> None:
    told = Off(A, read=A, held=A, answered=True, lock_held=True)
    assert path(Off(A, lock_held=True), ASK_HOME=told) == [Means.STAMP, Means.ASK_HOME]
    assert told.good


def test_without_an_answer_the_holder_of_the_lock_is_told_to_stop_even_if_nothing_is_known() -> None:
    assert path(Off(lock_held=True)) == [Means.STAMP, Means.ASK_HOME, Means.SIGNAL]
    went = path(Off(A, lock_held=True))
    assert went.index(Means.SIGNAL) < went.index(Means.PORTS) < went.index(Means.BESIDE)


def test_an_oven_that_the_controller_does_not_name_is_looked_for_at_its_port() -> None:
    """D4, D5: an answer for one oven says nothing of another."""
    told = Off(A | B, read=A, held=A, answered=True, lock_held=True)
    assert path(Off(A | B, lock_held=True), ASK_HOME=told)[2:] == [
        Means.ASK_DEVICE,
        Means.PORTS,
        Means.BESIDE,
    ]
    assert not told.good


def test_one_oven_alone_is_tried_at_its_port_before_everything_is_stopped() -> None:
    went = path(Off(A, named=True, lock_held=True))
    assert went.index(Means.PORTS) < went.index(Means.SIGNAL)
    assert went[-2:] == [Means.PORTS, Means.BESIDE]


def test_one_oven_that_the_controller_holds_and_cannot_read_ends_no_other_heat() -> None:
    """Its cable is out: the controller goes on to cut it, beside the heats of the others."""
    told = Off(A, named=True, held=A, answered=True, lock_held=True)
    went = path(Off(A, named=True, lock_held=True), ASK_HOME=told)
    assert Means.SIGNAL not in went
    assert went[-1] is Means.BESIDE
    assert Means.SIGNAL in path(Off(A, lock_held=True), ASK_HOME=told._replace(named=False))


def test_off_is_good_only_when_all_in_charge_was_read_and_nobody_heats_unheard() -> None:
    assert not Off().good
    assert Off(A, read=A).good
    assert not Off(A | B, read=A).good
    assert not Off(A, read=A, lock_held=True).good
    assert Off(A, named=True, read=A, lock_held=True).good


def test_off_says_0_only_where_every_older_start_sees_it() -> None:
    """A stamp in one home is not seen under another; the device's stamp is seen by all."""
    read = Off(A, read=A)
    assert exit_code(read) == 0
    assert exit_code(read._replace(home_stamped=False)) == 0
    assert exit_code(read._replace(devices_stamped=False)) == 1
    assert exit_code(read._replace(home_stamped=False, devices_stamped=False)) == 1
    assert exit_code(Off(A)) == exit_code(Off()) == exit_code(Off(A, read=A, lock_held=True)) == 1


def test_every_off_ends() -> None:
    sets = (frozenset[str](), A, A | B)
    flags = (False, True)
    for charge, read, held, named, answered, lock in itertools.product(sets, sets, sets, flags, flags, flags):
        path(Off(charge, named, (), read, held, answered, lock))


@pytest.mark.parametrize(
    "answer",
    [None, 3, "off", [], {}, {"ovens": []}, {"ovens": {"a": True}}, {"ovens": {"a": {"reads_off": True}}},
     {"ovens": {"a": {"reads_off": 3}, "b": {}}}, {"ovens": {"a": {"reads_off": "3"}}},
     {"ovens": {1: {"reads_off": 3}}}],
)  # fmt: skip
def test_an_unexpected_answer_is_none(answer: object) -> None:
    assert told_off(answer) is None


def test_fewer_reads_than_three_are_not_off() -> None:
    told = told_off({"ovens": {"a": {"reads_off": 3}, "b": {"reads_off": 2}}, "more": 1})
    assert told == {"a": True, "b": False}
    assert told_off({"ovens": {}}) == {}


def test_only_the_holder_of_the_lock_and_its_child_are_believed() -> None:
    assert of_this_home(Peer(7, 1, 1000), 7, 1000)
    assert of_this_home(Peer(8, 7, 0), 7, 1000)
    assert not of_this_home(Peer(9, 1, 1000), 7, 1000)
    assert not of_this_home(Peer(8, 7, 1001), 7, 1000)
    assert not of_this_home(Peer(8, 7, 1000), None, 1000)
    assert not of_the_device(Peer(8, 7, 1000), 1000)
    assert of_the_device(Peer(8, 7, 1000, has_device=True), 1000)
    assert not of_the_device(Peer(8, 7, 1001, has_device=True), 1000)


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
