"""Where a campaign runs: all cores of this machine, or a cluster that speaks concurrent.futures too."""

import os
import signal
import threading
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, Future, ProcessPoolExecutor, wait
from contextlib import contextmanager
from itertools import islice
from multiprocessing import active_children, parent_process
from typing import TypeVar

from kilnctl.errors import ConfigError, RunRefused
from kilnctl.rehearsal import compiled

Work = TypeVar("Work")
Found = TypeVar("Found")
# Tasks handed over ahead of time: more than a cluster has cores. How often somebody is asked whether to stop.
AHEAD, LOOK_S = 256, 0.2


@contextmanager
def pool(cluster: str | None = None, jobs: int | None = None) -> Iterator[Executor]:
    """Give an executor: of as many processes as `jobs` or cores, or of a Dask cluster ("tcp://HOST:8786").

    What is still under way when it is left is ended. Every worker of a cluster needs this version of
    kilnctl. Raises ConfigError where Dask is not installed or nobody answers at the address.
    """
    if cluster is None:
        others, executor = set(active_children()), ProcessPoolExecutor(jobs or cores(), initializer=_ready)
        try:
            yield executor
        finally:
            executor.shutdown(wait=False, cancel_futures=True)
            for worker in set(active_children()) - others:
                worker.terminate()
        return
    try:
        from distributed import Client
    except ImportError:
        raise ConfigError('--cluster needs Dask: pip install "kilnctl[cluster]"') from None
    try:
        client = Client(cluster, timeout="10s")
    except (OSError, ValueError) as e:
        raise ConfigError(f"no cluster answers at {cluster}: {e}") from None
    with client:
        yield client.get_executor()


def cores() -> int:
    """Return how many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _ready() -> None:
    """Make a process fit to work: Ctrl-C and a closed terminal are left to the one that waits for it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGHUP, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    compiled.use()  # for a process that is begun anew; one that is forked has what its parent has
    threading.Thread(target=_go_with_parent, daemon=True).start()


def _go_with_parent() -> None:
    """End this process when the one that waits for it has gone: nobody would ever take what it finds."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def as_they_end(
    one: Callable[[Work], Found],
    work: Iterable[Work],
    executor: Executor,
    stopped: Callable[[], bool] = lambda: False,
) -> Iterator[Found]:
    """Yield what `one` makes of each task, the first that is done first, each handed to the next free core.

    `stopped` is called some times a second; where it returns True, what has not ended is given up. Raises
    RunRefused when a process of the executor was ended from outside, and nobody has stopped the whole.
    """
    try:
        yield from _as_they_end(one, work, executor, stopped)
    except BrokenExecutor:
        if stopped():
            return  # the order to end went to every process at once
        why = "a rehearsal was killed from outside, usually for lack of memory"
        raise RunRefused(f"{why}; nothing was heated: close other programs and try again") from None


def _as_they_end(
    one: Callable[[Work], Found], work: Iterable[Work], executor: Executor, stopped: Callable[[], bool]
) -> Iterator[Found]:
    to_come, running = iter(work), set[Future[Found]]()
    while not stopped():
        running |= {executor.submit(one, task) for task in islice(to_come, AHEAD - len(running))}
        if not running:
            return
        done, running = wait(running, LOOK_S, FIRST_COMPLETED)
        for future in done:
            yield future.result()
