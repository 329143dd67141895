"""How a person ends a long piece of work and keeps what there is: q, or Ctrl-C."""

import os
import select
import signal
import sys
import termios
import tty
from collections.abc import Callable, Iterator
from contextlib import contextmanager

SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


@contextmanager
def stop_key() -> Iterator[Callable[[], bool]]:
    """Give a function that is True from when q or Ctrl-C was pressed. A second Ctrl-C ends the command."""
    asked: list[int] = []

    def note(number: int, _frame: object) -> None:
        asked.append(number)
        signal.signal(signal.SIGINT, signal.default_int_handler)

    def pressed() -> bool:
        if taken and "q" in _typed().lower():
            asked.append(0)
        return bool(asked)

    before = {number: signal.signal(number, note) for number in SIGNALS}
    try:
        with _keys() as taken:
            yield pressed
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


@contextmanager
def _keys() -> Iterator[bool]:
    """Take keys without Enter, where somebody types to this very process; say whether."""
    if not sys.stdin.isatty() or os.tcgetpgrp(sys.stdin.fileno()) != os.getpgrp():
        yield False
        return
    before = termios.tcgetattr(sys.stdin)
    try:
        tty.setcbreak(sys.stdin, termios.TCSADRAIN)
        yield True
    finally:
        termios.tcsetattr(sys.stdin, termios.TCSADRAIN, before)


def _typed() -> str:
    """Return what was typed since the last call."""
    typed, descriptor = b"", sys.stdin.fileno()
    while select.select([descriptor], [], [], 0.0)[0] and (more := os.read(descriptor, 1024)):
        typed += more
    return typed.decode(errors="replace")
