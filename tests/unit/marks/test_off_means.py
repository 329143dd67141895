"""By which means an off is given, in which order, and when it is good: every case of the pure functions."""

import itertools

import pytest

from kilnctl.marks.off_means import (
    Means,
    Off,
    Peer,
    exit_code,
    looks_in,
    next_means,
    of_the_device,
    of_this_home,
    told_off,
)

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


@pytest.mark.parametrize("odd", [None, [], 3, {"looks_s": None}, {"looks_s": [["a", 1.0]]}])
def test_a_line_before_the_answer_that_says_nothing_whole_puts_no_alarm_off(odd: object) -> None:
    assert looks_in(odd) == {}


def test_no_line_makes_a_board_slower_than_is_believed() -> None:
    odd = {"a": 0.6, "b": 1e9, "c": float("inf"), "d": float("nan"), "e": -1.0, "f": True, "g": "1", "h": 0.0}
    assert looks_in({"looks_s": odd}) == {"a": 0.6, "b": 2.0, "c": 2.0}
