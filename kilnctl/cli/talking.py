"""Commands that talk to the running controller: status, answer, adjust, acknowledge."""

import json
import os
import sys
from dataclasses import asdict
from typing import Literal

from kilnctl.cli import left_behind
from kilnctl.cli.options import Json
from kilnctl.config import home
from kilnctl.errors import RunRefused, UnitError
from kilnctl.link.client import LinkClient
from kilnctl.link.snapshot import Answer, Command, Snapshot
from kilnctl.link.trip_head import trip_head
from kilnctl.units import parse_duration_s, parse_point_c, say_duration, say_point

LETS_GO_S = 5.0


def status(*, json_: Json = False) -> int:
    """Say what every running oven is doing. Exit code 0 also when nothing runs.

    Parameters
    ----------
    json_:
        Print one JSON object instead of lines.
    """
    found = left_behind.look(who())
    if json_:
        print(json.dumps(as_data(found)))
        return 0
    for snapshot in found.ovens.values():
        print("\n".join(lines(snapshot)))
    for oven in found.starting:
        print(f"{oven}: the heat is about to begin")
    said = left_behind.lines(found)
    if not (found.ovens or found.starting or found.not_off):
        said.insert(0, "nothing is running")
    if said:
        print("\n".join(said))
    return 0


def as_data(found: left_behind.Found) -> dict[str, object]:
    """Return what was found as plain data, for scripts."""
    return {
        "ovens": {name: asdict(snapshot) for name, snapshot in found.ovens.items()},
        "starting": list(found.starting),
        "interrupted": list(found.not_off),
        "latched": [asdict(said) for said in found.latched],
        "may_be_hot": [asdict(said) for said in found.hot],
    }


def lines(s: Snapshot) -> list[str]:
    """Return the state of one oven in words."""
    now = "no reading" if s.process_c is None else say_point(s.process_c)
    goal = "" if s.goal_c is None else f", goal {say_point(s.goal_c)}"
    left = "" if s.total_left_s is None else f", {say_duration(s.total_left_s)} left"
    said = [f"{s.oven}: {s.word}, {now}{goal}{left}" + (f" (run {s.run}, {s.profile})" if s.run else "")]
    if s.word == "not powered":
        said.append(f"  {s.note}")
    if s.trip:
        head = trip_head(s)
        said += [f"  {head.action}", f"  tripped: {head.cause}", f"  {head.caution}"]
    if s.waiting:
        said.append(f"  waiting for you: {s.waiting.say}")
    said += [f"  alarm {a.kind} ({a.priority}, {a.state}): {a.reason}" for a in s.alarms]
    if not s.record_complete:
        said.append("  the record has gaps")
    return said


def answer(reply: Literal["done", "wait", "abort"], /, *, oven: str | None = None) -> int:
    """Answer the operator step that waits.

    Parameters
    ----------
    reply:
        done goes on, wait keeps waiting (the longest wait of the recipe stays), abort ends the run.
    oven:
        The name of the oven, where several run.
    """
    return told(ask("answer", oven, reply=reply), f"answered: {reply}")


def adjust(
    what: Literal["longer", "lower", "next"], value: str | None = None, /, *, oven: str | None = None
) -> int:
    """Change a running heat; never above the checked plan, and recorded as a deviation.

    Parameters
    ----------
    what:
        longer lengthens the soak, lower lowers the goal (and what is held after it, up to the next ramp),
        next goes on to the next segment.
    value:
        By how long ("30min") or down to what ("200C"); nothing for next.
    oven:
        The name of the oven, where several run.
    """
    if (value is None) != (what == "next"):
        raise UnitError("write: adjust longer 30min, adjust lower 200C, or adjust next")
    args: dict[str, object] = {"what": what}
    if value is not None:
        args |= {"by_s": parse_duration_s(value)} if what == "longer" else {"to_c": parse_point_c(value)}
    return told(ask("adjust", oven, **args), f"taken up with the next tick: {what} {value or ''}".rstrip())


def acknowledge(*, oven: str | None = None) -> int:
    """Say that you have seen the alarms. It clears no trip: see reset.

    Parameters
    ----------
    oven:
        The name of the oven, where several run.
    """
    return told(ask("acknowledge", oven), "alarms acknowledged")


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
