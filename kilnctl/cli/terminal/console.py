"""The person at this terminal: lines, answers, and single keys that need no Enter."""

import sys
import termios
import tty

from kilnctl.clock import Clock, RealClock
from kilnctl.commissioning.operator import Later

STRAY_S = 1.0  # nobody reads a question and leaves it empty in less


class Console:
    """A person at a terminal. q, an empty answer where one is needed, and the end of input mean later.

    A key needs no Enter, but most people press it: one that comes right after is no answer to what follows.
    """

    def __init__(self, clock: Clock | None = None) -> None:
        self._clock = clock or RealClock()
        self._after_key = False

    def say(self, line: str) -> None:
        """Show a line."""
        print(line, flush=True)

    def ask(self, question: str, needed: bool = True) -> str:
        """Return what was typed."""
        typed = self._typed(question)
        if typed == "q" or (needed and not typed):
            raise Later
        return typed

    def _typed(self, question: str) -> str:
        asked_s = self._clock.real_s()
        try:
            typed = input(f"  {question}").strip()
            if not typed and self._after_key and self._clock.real_s() - asked_s < STRAY_S:
                typed = input(f"  {question}").strip()
        except EOFError:
            raise Later from None
        self._after_key = False
        return typed

    def key(self, question: str) -> bool:
        """Return True for y, False for n, without Enter."""
        print(f"  {question} [y/n/q] ", end="", flush=True)
        while True:
            pressed = one_key().lower()
            if pressed in ("y", "n"):
                print(pressed, flush=True)
                self._after_key = True
                return pressed == "y"
            if pressed in ("q", ""):
                print(flush=True)
                raise Later


def one_key() -> str:
    """Return the next key pressed; an empty string at the end of input. Ctrl-C stays Ctrl-C."""
    descriptor = sys.stdin.fileno()
    before = termios.tcgetattr(descriptor)
    try:
        tty.setcbreak(descriptor, termios.TCSADRAIN)
        return sys.stdin.read(1).replace("\x04", "")
    finally:
        termios.tcsetattr(descriptor, termios.TCSADRAIN, before)


def yes_key(question: str) -> bool:
    """Return True for y, False for any other key but Enter: that belongs to the key before, or to nothing."""
    print(f"{question} [y/n] ", end="", flush=True)
    while (pressed := one_key()) in ("\n", "\r"):
        pass
    yes = pressed.lower() == "y"
    print("y" if yes else "n", flush=True)
    return yes


def asked_anew(question: str) -> str:
    """Return what is typed from now on: what was typed before cannot answer what had not been shown yet."""
    if sys.stdin.isatty():
        termios.tcflush(sys.stdin, termios.TCIFLUSH)
    return input(question)
