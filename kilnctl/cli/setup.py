"""The command that walks through the set-up of an oven: commission."""

import sys
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from kilnctl.cli.choosing import choose_oven
from kilnctl.clock import RealClock
from kilnctl.commissioning import drills, results
from kilnctl.config import home
from kilnctl.config.oven import Oven
from kilnctl.errors import DeviceError, RunRefused
from kilnctl.logbook.book import Logbook
from kilnctl.logbook.readers import Reader
from kilnctl.runtime.steps import STEPS, Step, find_step, open_or_overdue


def commission(
    oven: str | None = None,
    /,
    *,
    step: str | None = None,
    listing: Annotated[bool, Parameter(name="--list", negative="")] = False,
) -> int:
    """Walk through the set-up of an oven. Stops and goes on where you left off; every step is dated.

    Parameters
    ----------
    oven
        An oven file or name.
    step
        Do this step only, also when it is not due.
    listing
        Only show what is done, open or overdue.
    """
    path, chosen = choose_oven(oven)
    with Logbook(home.logbook_path()) as book:
        if listing:
            done = results.results(Reader(book.connection), chosen.name)
            print(
                "\n".join(results.listing(done, RealClock().utc().timestamp(), results.hash_of(_text(path))))
            )
            return 0
        if not sys.stdin.isatty():
            raise RunRefused("the set-up asks questions; start it from a terminal, or show it with --list")
        return _walk(book, path, chosen, [find_step(step)] if step is not None else list(STEPS), step is None)


def _text(path: Path) -> str:
    return path.read_text(encoding="utf-8")


def _walk(book: Logbook, path: Path, oven: Oven, steps: list[Step], only_due: bool) -> int:
    print("Local codes and licensed practice come first. Empty answer: stop here and go on another time.")
    for step in steps:
        done = results.results(Reader(book.connection), oven.name)
        if only_due and not open_or_overdue(
            [step], done, RealClock().utc().timestamp(), results.hash_of(_text(path))
        ):
            continue
        missing = [name for name in step.after if name not in done or not done[name].passed]
        if missing:
            print(f"\n{step.name}: first {', '.join(missing)}")
            continue
        if not _one(book, path, oven, step):
            return 0
    print("\nnothing else is open")
    return 0


def _one(book: Logbook, path: Path, oven: Oven, step: Step) -> bool:
    """Do one step; False when the person stops here."""
    print(f"\n{step.name} (needed for {step.blocks})\n  {step.do}\n  Expected: {step.expect}")
    value, line = None, ""
    if step.drill in drills.DRILLS:
        if input("  Ready? Type yes to begin: ").strip() != "yes":
            return False
        value, line, passed = _drill(oven, step)
        print(f"  {line}")
        if not passed:
            _keep(book, path, oven, step, False, value, line)
            return True
    elif step.unit:
        typed = input(f"  Measured value in {step.unit}: ").strip()
        if not typed:
            return False
        value = _number(typed)
    answer = input("  Passed as expected? yes or no: ").strip()
    if answer not in ("yes", "no"):
        return False
    note = input("  Note (what was seen, with what): ").strip()
    _keep(book, path, oven, step, answer == "yes", value, f"{line} {note}".strip())
    return True


def _drill(oven: Oven, step: Step) -> tuple[float | None, str, bool]:
    from kilnctl.clock import RealClock
    from kilnctl.devices.hands import open_hands

    clock = RealClock()
    try:
        found = drills.run(step.drill, oven, open_hands(oven, clock), clock)
    except DeviceError as e:
        return None, str(e), False
    return found.value, found.line, found.passed


def _number(typed: str) -> float | None:
    try:
        return float(typed.replace(",", "."))
    except ValueError:
        return None


def _keep(
    book: Logbook, path: Path, oven: Oven, step: Step, passed: bool, value: float | None, note: str
) -> None:
    kept = results.keep(
        book, oven, _text(path), step, passed, RealClock().utc().timestamp(), value=value, note=note
    )
    print(f"  {'passed' if kept.passed else 'NOT passed'}, stored")
