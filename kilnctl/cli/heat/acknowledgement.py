"""Before heat: what the controller says against it, and the lines that a person acknowledges at the oven."""

import sys
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from kilnctl.cli.terminal.console import yes_key
from kilnctl.cli.terminal.place import who
from kilnctl.cli.terminal.presence_prompt import prove
from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.errors import RunRefused
from kilnctl.link.client import LinkClient
from kilnctl.link.snapshot import Command
from kilnctl.link.start import Presence, StartJob, args_of
from kilnctl.permits.cautions import on_screen

Say = Callable[[str], object]
ON_ONE_LINE = 3


def caution(oven: Oven, not_checked: Sequence[str], say: Say) -> None:
    """Show the caution that stands before every heat."""
    say(on_screen(oven))
    for sentence in not_checked:
        say(f"note: {sentence}")
    if oven.simulated:
        say("simulated oven: nothing real is heated")


def consented(client: LinkClient, oven: Oven, start: StartJob, wait_s: float, say: Say) -> StartJob:
    """Ask the controller whether a heat may begin, and a person for what is to be acknowledged, at the oven.

    Returns the start with the person's answers. Raises RunRefused; nothing has been heated then.
    """
    asks: Presence = "asked" if sys.stdin.isatty() else "nobody"
    start = replace(start, presence=asks)
    answer = client.ask(Command("may", oven.name, args_of(start), who()), wait_s)
    page: dict[str, Any] = answer.data
    if not answer.accepted:
        why = named(page["refusals"], say) if page.get("refusals") else answer.why
        raise RunRefused(f"not yet: {why}{leads_on(oven, page)}")
    if not page["asked"]:
        return start
    for line in (*page["notes"], page["means"]):
        if line:
            say(line)
    acknowledge(page["lines"], page["told_by"], say)
    presence = prove(oven, RealClock())
    lines = tuple(page["lines"])
    return replace(start, acknowledged=lines, challenge=page["challenge"], presence=presence)


def leads_on(oven: Oven, page: dict[str, Any]) -> str:
    """Return where to go on, where it is the set-up that is missing."""
    return f". `kilnctl commission {oven.name}` continues from here" if page.get("asked") else ""


def named(refusals: Sequence[str], say: Say) -> str:
    """Return why it is refused; where that is more than one line holds, each stands on a line of its own."""
    if len(refusals) <= ON_ONE_LINE:
        return "; ".join(refusals)
    for line in refusals:
        say(f"missing  {line}")
    return f"{len(refusals)} things are missing (named above)"


def acknowledge(lines: Sequence[str], told_by: str, say: Say) -> None:
    """Show the lines on one page, then take one key for each; an n raises RunRefused."""
    say(told_by)
    for number, line in enumerate(lines, 1):
        say(f"  {number}  {line}")
    for number in range(1, len(lines) + 1):
        if not yes_key(f"  {number} is true?"):
            raise RunRefused(f"line {number} was not acknowledged; nothing was heated")
