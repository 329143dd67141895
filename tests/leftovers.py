"""Processes that a test has started and not ended, found by what stands in their environment.

A supervisor keeps looking for an oven that may be hot as long as it lives: a test that takes the oven away
first, and then only asks it to stop, leaves it behind.
"""

import contextlib
import os
import signal
import time
from collections.abc import Iterator
from pathlib import Path

MINE = "KILNCTL_TESTS"  # in the environment of whatever this test process starts
ENDS_BY_ITSELF_S = 8.0
TOLD_S = 0.5  # most have ended by then; nobody waits for those that may not


def mark_mine() -> None:
    """Put the number of this test process into the environment of whatever it starts from now on."""
    os.environ[MINE] = str(os.getpid())


def living() -> Iterator[tuple[int, dict[str, str]]]:
    """Yield number and environment of every living process that may be looked at, this one left out."""
    for folder in Path("/proc").glob("[0-9]*"):
        with contextlib.suppress(OSError):
            lives = (folder / "stat").read_text().rpartition(")")[2].split()[0] not in "ZX"
            words = (folder / "environ").read_bytes().decode(errors="replace").split("\0")
            if lives and int(folder.name) != os.getpid():
                yield int(folder.name), dict(word.partition("=")[::2] for word in words)


def of_home(home: Path) -> list[int]:
    """Return the living processes of a home; those that were forked stand in its register."""
    found = [pid for pid, env in living() if env.get("KILNCTL_HOME") == str(home)]
    lines = register(home).read_text().splitlines() if register(home).exists() else []
    return found + [
        int(pid) for pid, began, _, _ in (line.split(" ", 3) for line in lines) if lives(pid, began)
    ]


def register(home: Path) -> Path:
    """Return where processes of a home that were forked write down what they are, beside the home."""
    return home.with_name(f"{home.name}.forked")


def lives(pid: str, began: str) -> bool:
    """Return whether a process still runs, and is the one that began then."""
    try:
        stands = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return False
    return stands[19] == began and stands[0] not in "ZX"


def of_module(nodeid: str) -> dict[int, str]:
    """Return the living processes that tests of a module have started here, and by which test."""
    me = str(os.getpid())
    said = {pid: env.get("PYTEST_CURRENT_TEST", "") for pid, env in living() if env.get(MINE) == me}
    return {pid: test for pid, test in said.items() if test.startswith(f"{nodeid}::")}


def end_home(home: Path) -> None:
    """End every process of a home, by its number: told to stop, then killed."""
    end_s = time.monotonic() + TOLD_S
    for pid in of_home(home):
        send(pid, signal.SIGCONT)
        send(pid, signal.SIGTERM)
    while (left := of_home(home)) and time.monotonic() < end_s:
        time.sleep(0.02)
    while left:
        for pid in left:
            send(pid, signal.SIGKILL)
        time.sleep(0.02)
        left = of_home(home)


def send(pid: int, number: signal.Signals) -> None:
    """Send a signal to a process that may have gone."""
    with contextlib.suppress(ProcessLookupError):
        os.kill(pid, number)


def complaint(nodeid: str) -> str:
    """Return which processes the tests of a module have left behind, empty where none; they are killed."""
    end_s = time.monotonic() + ENDS_BY_ITSELF_S
    while (left := of_module(nodeid)) and time.monotonic() < end_s:
        time.sleep(0.05)
    for pid in left:
        send(pid, signal.SIGKILL)
    return "; ".join(f"process {pid} of {test} was left behind" for pid, test in left.items())
