"""What the commands that talk to the running controller share: ask it, and say what came of it."""

import contextlib
import sys
from typing import Any

from kilnctl.cli.terminal.place import who
from kilnctl.cli.terminal.whole_words import whole_words
from kilnctl.clock import RealClock
from kilnctl.config import home
from kilnctl.errors import NoController, RunRefused
from kilnctl.link.client import LinkClient
from kilnctl.link.snapshot import Answer, Command

LETS_GO_S = 5.0


def ask(word: str, oven: str | None, **args: object) -> Answer:
    """Ask the controller. Raises NoController when there is none, LinkError when it does not answer."""
    with LinkClient(home.socket_path()) as client:
        return client.ask(Command(word, oven, dict(args), who()))


def print_answer(answer: Answer, done: str) -> int:
    """Print what came of it. Raises RunRefused with the controller's reason."""
    if not answer.accepted:
        raise RunRefused(answer.why)
    print(whole_words(answer.why or done, sys.stdout))
    return 0


def take_over(oven: str) -> None:
    """End the controller's watch over an oven, hot as it may be: its port is needed here.

    Raises RunRefused while a heat runs on it.
    """
    clock = RealClock()
    give_up_s = clock.real_s() + LETS_GO_S
    while (held := _held(oven)) is not None:
        if held.get("busy"):
            raise RunRefused(f"{oven} is still run by the controller; `kilnctl off` ends that")
        if clock.real_s() > give_up_s:
            raise RunRefused(f"the controller has not released {oven}; try again")
        with contextlib.suppress(NoController):
            ask("let go", oven)
        clock.pause(0.1)


def _held(oven: str) -> dict[str, Any] | None:
    """Return the state of an oven that the controller runs or watches, None where it does neither."""
    try:
        with LinkClient(home.socket_path()) as client:
            ovens: dict[str, dict[str, Any]] = client.ask(Command("status", oven, who=who())).data["ovens"]
    except NoController:
        return None
    found = ovens.get(oven)
    return found if found is not None and found["holds"] else None
