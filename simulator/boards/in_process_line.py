"""In process only: what the line does to one exchange with a board, and the errors that come of it."""

from collections.abc import Callable

from simulator.boards.fault_state import Flaws


class WireError(Exception):
    """The exchange failed on the line."""


class NoAnswer(WireError):
    """Nothing came back in time; the command may have been obeyed all the same."""


class DamagedAnswer(WireError):
    """What came back was damaged, short, an echo, a collision, or from another address."""


def reaches(flaws: Flaws, writing: bool) -> bool:
    """Return True when a request reaches the board; an echo that looks like obedience gives False.

    Raises NoAnswer, or DamagedAnswer for the echo of a read.
    """
    if flaws.dark or flaws.line == "silent":
        raise NoAnswer("no reply")
    if flaws.line == "echoed" and not writing:
        raise DamagedAnswer("an echo of the request")
    return flaws.line != "echoed"


def flipped(flaws: Flaws, value: int, bits: int, chance: Callable[[], float]) -> int:
    """Return a value after the line: now and then with one of its bits flipped, and nobody can tell."""
    if not flaws.flipped or chance() >= flaws.flipped:
        return value
    return value ^ (1 << int(chance() * bits))


def comes_back(flaws: Flaws, wait_s: float, chance: Callable[[], float]) -> None:
    """Let a reply travel. Raises NoAnswer or DamagedAnswer."""
    if flaws.late_s + flaws.split_s > wait_s or chance() < flaws.swallowed:
        raise NoAnswer("no reply in time")
    shares = (flaws.damaged, flaws.short, flaws.junk, 1.0 if flaws.foreign else 0.0, flaws.collisions)
    if flaws.wrong_address or any(chance() < share for share in shares):
        raise DamagedAnswer("a damaged reply")
