"""A board of which every answer comes damaged: what a tick of its oven may cost the other ovens beside it.

A controller beats only while every oven ticks, and a supervisor kills it, with the heat of every oven, after
some seconds without a beat. A maker who plugs in a second oven's unknown board must not end the first heat.
"""

import pytest

from kilnctl.errors import NoReply
from kilnctl.processes.oven_thread import TICK_GRACE_S
from kilnctl.readings import Quality

MISSES = {
    "a stray byte before each answer": lambda reply: b"\x00" + reply,
    "a wrong checksum": lambda reply: reply[:-1] + bytes([reply[-1] ^ 1]),
    "half of each answer": lambda reply: reply[: len(reply) // 2],
    "another address": lambda reply: bytes([reply[0] + 1]) + reply[1:],
}


def ticks(bench, count: int) -> list[float]:
    """Return how long each of some ticks takes: a look, and an off (a drive sends no more than that)."""
    took = []
    for _ in range(count):
        began_s = bench.clock.real_s()
        bench.oven_io.scan(bench.clock.now_s())
        bench.oven_io.off()
        took.append(bench.clock.real_s() - began_s)
        bench.clock.advance(max(0.0, 1.0 - took[-1]))
    return took


@pytest.mark.parametrize("damage", MISSES.values(), ids=MISSES)
@pytest.mark.parametrize("answers_after_s", [0.06, 0.15])
def test_from_its_start_on(bench, damage, answers_after_s):
    bench.board.fault = lambda _request, reply: [(answers_after_s, damage(reply))]
    with pytest.raises(NoReply):
        bench.oven_io.connect()
    assert max(ticks(bench, 8)) < 1.0 + TICK_GRACE_S


@pytest.mark.parametrize("damage", MISSES.values(), ids=MISSES)
def test_from_one_tick_to_the_next(bench, damage):
    """The first tick pays for what it finds out, and is still over long before the supervisor's patience."""
    bench.oven_io.connect()
    ticks(bench, 2)
    bench.board.fault = lambda _request, reply: [(0.1, damage(reply))]
    first, *later = ticks(bench, 8)
    assert first < 3.0
    assert max(later) < 1.0 + TICK_GRACE_S


def test_it_is_never_taken_for_a_board_without_power(bench):
    bench.board.fault = lambda _request, reply: [(0.06, b"\x00" + reply)]
    with pytest.raises(NoReply):
        bench.oven_io.connect()
    for _ in range(5):
        ticks(bench, 1)
        process = bench.oven_io.scan(bench.clock.now_s()).process
        assert process.quality is Quality.BAD_REPLY
        assert "a stray byte comes before it" in process.why


def test_a_board_that_is_whole_again_is_read_in_full_in_the_second_tick(bench):
    bench.oven_io.connect()
    bench.board.fault = lambda _request, reply: [(0.05, b"\x00" + reply)]
    ticks(bench, 5)
    bench.board.fault = None
    ticks(bench, 1)
    scan = bench.oven_io.scan(bench.clock.now_s())
    assert (scan.process.value, scan.door_open, scan.heat_on) == (20.0, False, False)
    assert bench.oven_io.off() is True


@pytest.mark.parametrize("answers_after_s", [0.02, 0.1, 0.18])
def test_a_board_that_gets_power_later_is_heard_however_slow_it_is(bench, answers_after_s):
    """It was silent at the start, and its file's time-out (0.2 s) lets it answer as late as this."""
    bench.board.fault = lambda _request, _reply: []
    with pytest.raises(NoReply):
        bench.oven_io.connect()
    ticks(bench, 5)
    bench.board.fault = lambda _request, reply: [(answers_after_s, reply)]
    ticks(bench, 5)
    assert bench.oven_io.scan(bench.clock.now_s()).process.value == 20.0
    assert bench.oven_io.off() is True
