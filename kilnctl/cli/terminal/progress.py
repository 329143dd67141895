"""What a person at a terminal sees while something takes more than a moment. Loads next to nothing."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def progress(what: str) -> Iterator[Callable[[float], object]]:
    """Show how far a long job is, on a terminal's stderr; yields what takes the fraction done."""
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(what, total=1.0)
        yield lambda done: bar.update(task, completed=done)


@contextmanager
def at_work(what: str) -> Iterator[None]:
    """Show that something goes on whose end cannot be told, on a terminal's stderr."""
    if not sys.stderr.isatty():
        yield
        return
    from rich.console import Console

    with Console(stderr=True).status(what):
        yield
