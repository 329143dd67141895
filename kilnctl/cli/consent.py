"""Before heat: the caution, what is missing of the set-up, and the lines that a person acknowledges."""

import sys
from collections.abc import Callable, Sequence

from kilnctl.cli.console import one_key
from kilnctl.cli.here import prove
from kilnctl.cli.messages import send_test
from kilnctl.clock import RealClock
from kilnctl.commissioning.results import hash_of, results, stored
from kilnctl.commissioning.selftest import self_test
from kilnctl.config import home
from kilnctl.config.oven import Oven
from kilnctl.devices.hands import open_hands
from kilnctl.errors import RunRefused
from kilnctl.logbook.book import Logbook
from kilnctl.logbook.readers import Reader
from kilnctl.runtime.arming import Arming, arm, on_screen
from kilnctl.runtime.job import Job
from kilnctl.runtime.steps import Done

Say = Callable[[str], object]
ON_ONE_LINE = 3


def caution(text: str, oven: Oven, todo: Job, say: Say, only: str = "") -> None:
    """Show the caution; on a live oven refuse what is not commissioned, then ask line by line, at the oven.

    `text` is the oven file. `only` is the one question that is left for a heat whose owner has agreed
    before it began. On a simulated oven nothing is asked. Raises RunRefused; nothing has been heated then.
    """
    say(on_screen(oven))
    for sentence in todo.not_checked:
        say(f"note: {sentence}")
    if oven.simulated:
        say("simulated oven: nothing real is heated")
        return
    if todo.record_only:
        return
    judged = arming_of(text, oven, todo)
    if judged.refusals:
        raise RunRefused(f"not yet: {named(judged.refusals, say)}. `kilnctl commission {oven.name}` leads on")
    acknowledge((only,) if only else judged.lines, judged.told_by, say)
    prove(oven, RealClock())
    if todo.unattended:
        messages_work(oven, say)
        dead_man_works(text, oven, say)


def dead_man_works(text: str, oven: Oven, say: Say) -> None:
    """Try the dead-man for some fifteen seconds. Raises RunRefused where the output held."""
    say("trying the dead-man: heat on, then no more word to the board")
    clock = RealClock()
    with Logbook(home.logbook_path()) as book:
        kept = self_test(book, oven, text, open_hands(oven, clock), clock)
    say(stored(kept, clock.utc().timestamp()))


def messages_work(oven: Oven, say: Say) -> None:
    """Send the news of an unattended heat; where a channel that is set up does not take it, refuse."""
    for line in send_test(oven.name):
        say(line)
        if line.startswith("WRONG"):
            raise RunRefused("a message was not taken: mend the channel, or take it out of messages.toml")


def named(refusals: Sequence[str], say: Say) -> str:
    """Return why it is refused; where that is more than one line holds, each stands on a line of its own."""
    if len(refusals) <= ON_ONE_LINE:
        return "; ".join(refusals)
    for line in refusals:
        say(f"missing  {line}")
    return f"{len(refusals)} things are missing (named above)"


def acknowledge(lines: Sequence[str], told_by: str, say: Say) -> None:
    """Show the lines on one page, then take one key for each. Raises RunRefused at any key but y."""
    say(told_by)
    for number, line in enumerate(lines, 1):
        say(f"  {number}  {line}")
    for number in range(1, len(lines) + 1):
        print(f"  {number} is true? [y/N] ", end="", flush=True)
        yes = one_key().lower() == "y"
        print("y" if yes else "n", flush=True)
        if not yes:
            raise RunRefused(f"line {number} was not acknowledged; nothing was heated")


def arming_of(text: str, oven: Oven, todo: Job) -> Arming:
    """Return what stands in the way of a job on a live oven, and what must be acknowledged."""
    return arm(
        oven,
        todo.profile,
        unattended=todo.unattended,
        done=_done(oven.name),
        now_s=RealClock().utc().timestamp(),
        oven_hash=hash_of(text),
        terminal=sys.stdin.isatty(),
        resume_min=None if todo.resume_within_s is None else todo.resume_within_s / 60.0,
    )


def _done(oven: str) -> dict[str, Done]:
    if not home.logbook_path().is_file():
        return {}
    with Reader(home.logbook_path()) as reader:
        return results(reader, oven)
