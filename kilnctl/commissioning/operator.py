"""The person beside the oven, as the walk meets him: lines said, words asked, single keys."""

from typing import Protocol


class Later(Exception):
    """The person stops here and goes on another time; what is done is stored."""


class NotBegun(Exception):
    """No heat may come on for this step, by the person's word: it has not passed."""


class Person(Protocol):
    """Asks and tells. Both questions raise Later where the person stops (empty answer, q, end of input)."""

    def say(self, line: str) -> None:
        """Show a line."""
        ...

    def ask(self, question: str, needed: bool = True) -> str:
        """Return what was typed; an empty answer means later, unless it is not `needed`."""
        ...

    def key(self, question: str) -> bool:
        """Return True for the key y, False for n."""
        ...
