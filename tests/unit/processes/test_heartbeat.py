"""Beats: silence is measured, a closed end is noticed on both sides, and nobody can block the other."""

import os
from collections.abc import Iterator

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.processes.heartbeat import Beat, Listener

PIPE_BYTES = 65536  # Linux, pipe(7): default capacity


@pytest.fixture
def pipe() -> Iterator[tuple[int, int]]:
    ends = os.pipe()
    yield ends
    for fd in ends:
        try:
            os.close(fd)
        except OSError:
            continue


def test_silence_grows_until_a_beat_comes(pipe: tuple[int, int]) -> None:
    clock = VirtualClock()
    listener, beat = Listener(pipe[0], clock), Beat(pipe[1])
    clock.advance(2.5)
    assert listener.silence_s == 2.5
    assert not listener.began
    beat.send()
    listener.listen(0.0)
    assert listener.silence_s == 0.0
    assert listener.began
    clock.advance(3.0)
    listener.listen(0.0)
    assert listener.silence_s == 3.0


def test_beats_that_waited_while_the_supervisor_slept_count_as_heard_now(pipe: tuple[int, int]) -> None:
    """A supervisor that was stopped for a while must not kill a healthy controller when it wakes."""
    clock = VirtualClock()
    listener, beat = Listener(pipe[0], clock), Beat(pipe[1])
    beat.send()
    clock.advance(600.0)
    listener.listen(0.0)
    assert listener.silence_s == 0.0


def test_a_full_pipe_does_not_hold_up_the_controller(pipe: tuple[int, int]) -> None:
    beat = Beat(pipe[1])
    for _ in range(PIPE_BYTES + 10):
        beat.send()
    assert not beat.alone
    assert len(os.read(pipe[0], 2 * PIPE_BYTES)) == PIPE_BYTES


def test_a_dead_supervisor_is_noticed_without_a_beat(pipe: tuple[int, int]) -> None:
    beat = Beat(pipe[1])
    assert not beat.alone
    os.close(pipe[0])
    assert beat.alone
    beat.send()  # and does not raise
    assert beat.alone


def test_beats_that_nobody_takes_are_noticed(pipe: tuple[int, int]) -> None:
    listener, beat = Listener(pipe[0], VirtualClock()), Beat(pipe[1])
    assert not beat.unheard
    beat.send()
    assert beat.unheard
    listener.listen(0.0)
    assert not beat.unheard
    os.close(pipe[0])
    assert not beat.unheard  # that is another fault, and `alone` tells it


def test_a_dead_controller_closes_the_listener(pipe: tuple[int, int]) -> None:
    clock = VirtualClock()
    listener = Listener(pipe[0], clock)
    os.close(pipe[1])
    listener.listen(0.0)
    assert listener.closed
    listener.listen(0.1)  # goes on without spinning
    assert clock.real_s() == 0.1


def test_helpers_of_the_controller_do_not_keep_the_pipe_alive(pipe: tuple[int, int]) -> None:
    os.set_inheritable(pipe[1], True)
    Beat(pipe[1])
    assert not os.get_inheritable(pipe[1])
