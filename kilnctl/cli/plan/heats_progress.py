"""Many heats while somebody waits: how many are done, how fast, how long still; q or Ctrl-C ends it."""

import sys
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor
from typing import TypeVar

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

from kilnctl.cli.terminal.stop_key import stop_key
from kilnctl.rehearsal.executor import as_they_end
from kilnctl.units import say_duration

Work = TypeVar("Work")
Found = TypeVar("Found")


def shown(
    one: Callable[[Work], Found], work: Sequence[Work], executor: Executor, what: str = "faulted heats"
) -> Iterator[Found]:
    """Yield what `one` makes of each task as it ends, with a bar where standard error is a terminal.

    It ends early where a person stops it. At the end it says how many were done, and how many a second.
    """
    # Drawn by hand: processes are not to be forked beside the thread that would draw it.
    columns = (MofNCompleteColumn(), TextColumn(what), BarColumn(), TextColumn("{task.fields[said]}"))
    console = Console(file=sys.stderr, highlight=False)
    bar = Progress(*columns, console=console, auto_refresh=False, transient=True)
    with bar, stop_key() as stopped:
        number = bar.add_task(what, total=len(work), said="q: stop")
        task = bar.tasks[number]

        def told_to_stop() -> bool:
            bar.update(number, said=pace(int(task.completed), len(work), task.elapsed or 0.0), refresh=True)
            return stopped()

        for found in as_they_end(one, work, executor, told_to_stop):
            bar.advance(number)
            yield found
    console.print(over(int(task.completed), len(work), task.elapsed or 0.0, what))


def pace(done: int, asked: int, took_s: float) -> str:
    """Return how fast it goes, how long it will take still, and how to end it."""
    if not done or not took_s:
        return "q: stop"
    left = say_duration((asked - done) * took_s / done)
    return f"{done / took_s:.2f} a second, about {left} left; q: stop"


def over(done: int, asked: int, took_s: float, what: str) -> str:
    """Return what was done in the end, and how many a second."""
    many = str(done) if done == asked else f"stopped after {done} of {asked}"
    return f"{many} {what} in {say_duration(took_s)}" + (f": {done / took_s:.2f} a second" if took_s else "")
