"""What the commands that talk to the running controller share: ask it, and say what came of it."""

import os
import sys

from kilnctl.config import home
from kilnctl.errors import RunRefused
from kilnctl.link.client import LinkClient
from kilnctl.link.snapshot import Answer, Command

LETS_GO_S = 5.0


def ask(word: str, oven: str | None, **args: object) -> Answer:
    """Ask the controller. Raises NoController when there is none, LinkError when it does not answer."""
    with LinkClient(home.socket_path()) as client:
        return client.ask(Command(word, oven, dict(args), who()))


def told(answer: Answer, done: str) -> int:
    """Print what came of it. Raises RunRefused with the controller's reason."""
    if not answer.accepted:
        raise RunRefused(answer.why)
    print(answer.why or done)
    return 0


def who() -> str:
    """Return the terminal that this command was typed on."""
    try:
        return os.ttyname(sys.stdin.fileno())
    except (OSError, ValueError):
        return f"process {os.getpid()}"
