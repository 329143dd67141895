"""What an ordered off answers: read off so often in a row, and no read that can prove nothing any more."""

import contextlib
from collections.abc import Iterator

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.devices.bus_registry import Buses
from kilnctl.marks.off_means import READS
from kilnctl.processes.off_order import OffOrders


class Held:
    """An oven that is heated: what its reads say, one after the other, the last one for good."""

    alive = True

    def __init__(self, *says: bool | None, cut: bool = True) -> None:
        self.says, self.cut, self.reads, self.why = list(says), cut, 0, ""

    def off(self, why: str) -> None:
        self.why = why

    def wait_cut(self, real_s: float) -> bool:
        return self.cut

    def look_s(self) -> float | None:
        return 0.6

    def read_off(self) -> bool | None:
        self.reads += 1
        return self.says.pop(0) if len(self.says) > 1 else self.says[0]

    @contextlib.contextmanager
    def kept(self) -> Iterator[None]:
        yield


def verified(**ovens: Held) -> dict[str, bool]:
    clock = VirtualClock()
    return OffOrders(ovens, Buses(clock), clock).verified(ovens, "off by a test")


def test_an_oven_is_off_when_it_was_read_off_so_often() -> None:
    oven = Held(True)
    assert verified(a=oven) == {"a": True}
    assert (oven.reads, oven.why) == (READS, "off by a test")


@pytest.mark.parametrize(("says", "reads"), [((False,), 1), ((True, False, True), 2)])
def test_an_oven_that_did_not_read_off_is_not_read_again(says: tuple[bool, ...], reads: int) -> None:
    """A silent board takes a second a look; after three the answer came too late and stopped another oven."""
    silent, good = Held(*says), Held(True)
    assert verified(a=silent, b=good) == {"a": False, "b": True}
    assert (silent.reads, good.reads) == (reads, READS)


def test_a_heat_that_did_not_end_its_tick_is_not_off() -> None:
    assert verified(a=Held(True, cut=False)) == {"a": False}


def test_an_oven_that_was_left_is_not_named() -> None:
    assert verified(a=Held(None), b=Held(True)) == {"b": True}


def test_who_asks_for_it_hears_after_each_look_how_slow_the_board_is() -> None:
    clock, oven = VirtualClock(), Held(True)
    orders = OffOrders({"a": oven}, Buses(clock), clock)
    *before, answer = orders.order({"so_far": True})
    assert [said["looks_s"] for said in before] == [{"a": 0.6}] * (2 + READS)
    assert [said["reads_off"] for said in before] == [{"a": n} for n in (0, 0, *range(1, READS + 1))]
    assert answer["ovens"]["a"]["reads_off"] == READS
    assert [*orders.order({})] == [answer]  # an older `off` takes the first line for the answer
