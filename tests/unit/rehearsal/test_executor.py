"""Work on many processes: every result once, the first that is done first, and an end in the midst of it."""

import os
import signal
import time
from concurrent.futures import BrokenExecutor, Executor, Future, ThreadPoolExecutor
from multiprocessing import active_children
from pathlib import Path
from typing import Any

import pytest

from kilnctl.errors import RunRefused
from kilnctl.rehearsal.executor import as_they_end, pool


def slowly(seconds: float) -> float:
    time.sleep(seconds)
    return seconds


def test_every_result_comes_once_and_the_quick_before_the_slow() -> None:
    with ThreadPoolExecutor(2) as executor:
        assert list(as_they_end(slowly, [0.2, 0.0, 0.01], executor)) == [0.0, 0.01, 0.2]


def test_more_work_than_is_handed_over_at_once_is_all_done() -> None:
    with ThreadPoolExecutor(2) as executor:
        assert sorted(as_they_end(abs, range(-1000, 0), executor)) == list(range(1, 1001))


def test_what_has_not_begun_when_somebody_stops_is_never_begun() -> None:
    found: list[float] = []
    with ThreadPoolExecutor(1) as executor:
        for one in as_they_end(slowly, [0.001] * 500, executor, lambda: len(found) >= 3):
            found.append(one)
        left = executor._work_queue.qsize()
    assert 3 <= len(found) < 20
    assert left <= 500


@pytest.mark.real_bytes
def test_a_worker_in_the_midst_of_its_work_is_ended_with_the_pool() -> None:
    began_s = time.monotonic()
    with pool(jobs=2) as executor:
        looks = iter([False, False, True])
        assert list(as_they_end(slowly, [600.0] * 5, executor, lambda: next(looks))) == []
        workers = {worker.pid for worker in active_children()}
        assert len(workers) == 2
    # Asked of the system: the pool's own thread may have waited for a worker first, and who comes second
    # is told by multiprocessing that it lives.
    while any(Path(f"/proc/{pid}").exists() for pid in workers):
        assert time.monotonic() - began_s < 30.0


def test_an_error_in_one_task_comes_out() -> None:
    with ThreadPoolExecutor(1) as executor, pytest.raises(TypeError):
        list(as_they_end(slowly, ["no number"], executor))  # type: ignore[list-item]


def killed(_seconds: float) -> float:
    os.kill(os.getpid(), signal.SIGKILL)
    return 0.0


@pytest.mark.real_bytes
def test_a_worker_that_is_killed_for_want_of_memory_is_said_in_one_line() -> None:
    with pool(jobs=1) as executor, pytest.raises(RunRefused, match="lack of memory; nothing was heated"):
        list(as_they_end(killed, [0.0], executor))


class Gone(Executor):
    """Processes that have been ended."""

    def submit(self, _one: Any, /, *_args: Any, **_kwargs: Any) -> Future[Any]:
        future: Future[Any] = Future()
        future.set_exception(BrokenExecutor())
        return future


def test_processes_that_are_ended_together_with_the_whole_are_no_fault() -> None:
    looks = iter([False, True])
    assert list(as_they_end(abs, [1], Gone(), lambda: next(looks))) == []
    with pytest.raises(RunRefused):
        list(as_they_end(abs, [1], Gone()))
