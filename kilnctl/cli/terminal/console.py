"""The person at this terminal: lines, answers, and single keys that need no Enter."""

import sys
import termios
import tty

from kilnctl.commissioning.operator import Later


class Console:
    """A person at a terminal. q, an empty answer where one is needed, and the end of input mean later."""

    def say(self, line: str) -> None:
        """Show a line."""
        print(line, flush=True)

    def ask(self, question: str, needed: bool = True) -> str:
        """Return what was typed."""
        try:
            typed = input(f"  {question}").strip()
        except EOFError:
            raise Later from None
        if typed == "q" or (needed and not typed):
            raise Later
        return typed

    def key(self, question: str) -> bool:
        """Return True for y, False for n, without Enter."""
        print(f"  {question} [y/n/q] ", end="", flush=True)
        while True:
            pressed = one_key().lower()
            if pressed in ("y", "n"):
                print(pressed, flush=True)
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
