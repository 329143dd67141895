"""The command about messages: what is set up, what was delivered last, and a test."""

from datetime import UTC, datetime
from typing import Annotated

from cyclopts import Parameter

from kilnctl.cli.book import opened
from kilnctl.clock import RealClock
from kilnctl.config import home
from kilnctl.config.channels import load_channels, path
from kilnctl.logbook.entries import Message, in_force
from kilnctl.runtime.messenger import keep
from kilnctl.runtime.sending import send_all

NOT_DELIVERED = 1
SHOWN = 10


def messages(*, test: Annotated[bool, Parameter(negative="")] = False) -> int:
    """Show the channels over which you are told, and the last receipts. Messages make no oven safe.

    Exit code 1 where a test was not taken by every channel.

    Parameters
    ----------
    test:
        Send a test over every channel now.
    """
    channels = load_channels()
    if not channels:
        print(f"no channel is set up; write {path()} (see ports-and-services.md)")
        return 0
    for channel in channels:
        print(f"{channel.name}: tells {', '.join(channel.tells)}")
    sent = send_test() if test else ()
    for line in sent:
        print(line)
    if not test:
        _receipts()
    return NOT_DELIVERED if any(line.startswith("WRONG") for line in sent) else 0


def send_test(oven: str = "") -> tuple[str, ...]:
    """Send a test over every channel, store the receipts, and return a line for each."""
    clock = RealClock()
    receipts = send_all(load_channels(), "test", "a test: nothing is wrong", clock)
    for receipt in receipts:
        keep(oven, None, "test", receipt, clock)
    return tuple(receipt.line() for receipt in receipts)


def _receipts() -> None:
    if not home.logbook_path().is_file():
        return
    with opened() as reader:
        for row, message in list(in_force(reader, Message))[-SHOWN:]:
            at = datetime.fromtimestamp(row.utc_s, UTC).astimezone()
            end = "taken" if message.delivered else f"NOT taken: {message.why}"
            about = f"{message.oven} " if message.oven else ""
            print(f"  {at:%Y-%m-%d %H:%M} {about}{message.told} by {message.channel}: {end}")
