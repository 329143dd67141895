"""Handing a heat to the controller; what it finds doubtful in the first readings is asked here."""

import sys
from dataclasses import replace

from kilnctl.cli.terminal.console import yes_key
from kilnctl.cli.terminal.place import who
from kilnctl.errors import RunRefused
from kilnctl.link.client import LinkClient
from kilnctl.link.snapshot import Answer, Command
from kilnctl.link.start import StartJob, args_of
from kilnctl.processes import messenger


def begin(client: LinkClient, oven: str, start: StartJob, wait_s: float) -> Answer:
    """Return the controller's yes to a heat. Doubts are asked one by one, and any key but y refuses.

    Raises RunRefused with the controller's reason; nothing has been heated then.
    """
    answer = client.ask(Command("run", oven, args_of(start), who()), wait_s)
    doubts: dict[str, str] = answer.data.get("doubts", {})
    if doubts:
        _confirm(doubts, answer.why)
        start = replace(start, confirmed=tuple(doubts))
        answer = client.ask(Command("run", oven, args_of(start), who()), wait_s)
    if not answer.accepted:
        raise RunRefused(answer.why)
    messenger.start()
    return answer


def _confirm(doubts: dict[str, str], why: str) -> None:
    if not sys.stdin.isatty():
        raise RunRefused(f"{why} There is no terminal here to ask at: start it from one")
    for say in doubts.values():
        if not yes_key(say):
            raise RunRefused(f"not confirmed: {say} Nothing was heated")
