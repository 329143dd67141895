"""The person at this terminal: lines, answers, and single keys that need no Enter."""

import contextlib
import os
import select
import sys
import termios
import tty

from kilnctl.cli.terminal.whole_words import whole_words
from kilnctl.clock import Clock, RealClock
from kilnctl.commissioning.operator import Later

STRAY_S = 1.0  # nobody reads a question and leaves it empty in less
WORD_S = 0.25  # keys that come closer than this belong to one word, or are an Enter after a key
YES, NO, STOP = ("y", "yes"), ("n", "no"), ("q", "quit", "")


class Console:
    """A person at a terminal. q, an empty answer where one is needed, and the end of input mean later.

    A key needs no Enter, but most people press it: one that comes right after is no answer to what follows.
    """

    def __init__(self, clock: Clock | None = None) -> None:
        self._clock = clock or RealClock()
        self._after_key = False

    def say(self, line: str) -> None:
        """Show a line."""
        print(whole_words(line, sys.stdout), flush=True)

    def ask(self, question: str, needed: bool = True) -> str:
        """Return what was typed."""
        typed = self._typed(question)
        if typed == "q" or (needed and not typed):
            raise Later
        return typed

    def _typed(self, question: str) -> str:
        _forget_what_was_typed()
        asked_s = self._clock.real_s()
        try:
            typed = input(f"  {question}").strip()
            if not typed and self._after_key and self._clock.real_s() - asked_s < STRAY_S:
                typed = input("  ").strip()  # the question stands above
        except EOFError:
            raise Later from None
        self._after_key = False
        return typed

    def key(self, question: str) -> bool:
        """Return True for y, False for n, without Enter; what cannot be read is asked again."""
        pressed = _asked(f"  {question} [y/n/q] ", (*YES, *NO, *STOP), "  press y, n or q")
        if pressed in STOP:
            raise Later
        self._after_key = True
        return pressed in YES


def _asked(question: str, known: tuple[str, ...], cure: str) -> str:
    """Ask until a known key, or its word, is pressed; an Enter belongs to the key before, or to nothing."""
    _forget_what_was_typed()
    while True:
        print(question, end="", flush=True)
        while (typed := one_key()) and not typed.strip():
            pass
        pressed = typed.strip().lower()
        print(pressed, flush=True)
        if pressed in known:
            return pressed
        print(cure, flush=True)


def one_key() -> str:
    """Return the next key pressed, and what comes with it at once; empty at the end of input.

    A word has an n or a y in it somewhere, and its last letters would answer the next question. Ctrl-C
    stays Ctrl-C.
    """
    descriptor = sys.stdin.fileno()
    before = termios.tcgetattr(descriptor)
    try:
        tty.setcbreak(descriptor, termios.TCSADRAIN)
        typed = more = os.read(descriptor, 1024)
        while more and select.select([descriptor], [], [], WORD_S)[0]:
            more = os.read(descriptor, 1024)
            typed += more
        lines = typed.decode(errors="replace").replace("\x04", "").splitlines() or [""]
        return next((line for line in lines if line.strip()), "\n" if b"\n" in typed else lines[0])
    finally:
        termios.tcsetattr(descriptor, termios.TCSADRAIN, before)


def yes_key(question: str) -> bool:
    """Return True for y, False for n and the end of input; what cannot be read is asked again."""
    return _asked(f"{question} [y/n] ", (*YES, *NO, ""), "press y or n") in YES


def _forget_what_was_typed() -> None:
    """What was typed before a question was shown is no answer to it."""
    with contextlib.suppress(OSError, termios.error):  # no terminal, nothing typed ahead
        termios.tcflush(sys.stdin, termios.TCIFLUSH)


def asked_anew(question: str) -> str:
    """Return what is typed from now on: what was typed before cannot answer what had not been shown yet."""
    _forget_what_was_typed()
    return input(question)
