"""The person beside the oven, as the walk meets him: lines said, words asked, single keys."""

from typing import Protocol

NOT_YET = "  Then see to that first. n once more ends this step as not passed; q stops, nothing is stored."


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


def ready(person: Person, question: str) -> bool:
    """Ask whether all is set up for a drill; a first n may be a slip, or waits for what is to be done."""
    if person.key(question):
        return True
    person.say(NOT_YET)
    return person.key(question)
