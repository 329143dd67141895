"""The command about messages: what is set up, what was delivered last, and a test."""

from kilnctl.cli.record.open_logbook import opened
from kilnctl.cli.terminal.options import Flag, refuse_unused
from kilnctl.clock import say_minute
from kilnctl.config import home
from kilnctl.config.channels import load_channels, path
from kilnctl.logbook.entries import Message, in_force
from kilnctl.processes.messenger import send_test

NOT_DELIVERED = 1
SHOWN = 10


def messages(*, test: Flag = False) -> int:
    """Show the alert channels and the latest receipts. Messages make no oven safe.

    Exit code 1 if any channel did not take a test.

    Parameters
    ----------
    test:
        Send a test over every channel now.
    """
    channels = load_channels()
    if not channels:
        refuse_unused(f"no alert channel is set up in {path()}", test=test)
        print(f"no alert channel is set up; write {path()} (`kilnctl guide ports-and-services`)")
        return 0
    for channel in channels:
        print(f"{channel.name}: tells {', '.join(channel.tells)}")
    sent = send_test() if test else ()
    for line in sent:
        print(line)
    if not test:
        _receipts()
    return NOT_DELIVERED if any(line.startswith("WRONG") for line in sent) else 0


def _receipts() -> None:
    if not home.logbook_path().is_file():
        return
    with opened() as reader:
        for row, message in list(in_force(reader, Message))[-SHOWN:]:
            end = "taken" if message.delivered else f"NOT taken: {message.why}"
            about = f"{message.oven} " if message.oven else ""
            print(f"  {say_minute(row.utc_s)} {about}{message.told} by {message.channel}: {end}")
