"""Both ends of a link in a test: what a server answers, and pictures with a number."""

from collections.abc import Callable

from kilnctl.link.server import LinkServer
from kilnctl.link.snapshot import Answer, Command, Snapshot

Served = Callable[..., LinkServer]


def snapshot(sequence: int, oven: str = "furnace", note: str = "") -> Snapshot:
    return Snapshot(oven, True, sequence, "", "running", "heating", float(sequence), 20.0, 20.0, None, 830.0,
                    1100.0, 1.0, True, note=note)  # fmt: skip


def accept(command: Command) -> Answer:
    return Answer(True, command.word, {"oven": command.oven})
