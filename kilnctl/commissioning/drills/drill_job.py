"""The walk's end of a drill that heats: it starts this one drill's supervisor, and passes on what is told."""

import contextlib
import json
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from kilnctl.clock import Clock
from kilnctl.config import home
from kilnctl.errors import LinkError
from kilnctl.link import wire
from kilnctl.marks import ovens_in_charge
from kilnctl.marks.process_identity import drill_lock, locked
from kilnctl.marks.supervisor_report import NOT_READ
from kilnctl.permits.dead_man_test import Finding
from kilnctl.permits.heated_ticks import LOOK_S
from kilnctl.processes.spawn import SUPERVISOR

PROCESS = (sys.executable, "-P", "-m", "kilnctl.commissioning.drills.drill_process")
ENDS_S, SETTLES_S = 6.0, 30.0  # a drill that was told to end; a supervisor that has waited for a cable
KILLED = "killed"
OFF = "the heat is off, read back"
NOT_OFF = "off is not read back: plug the data cable in if it is out, else cut the power by hand"
# Of the drill that asks for the cable to be pulled: its silence is what was asked for, and no alarm.
CABLE_OUT = (
    "the line is silent, as it must be with the cable out: leave it out, and go on counting until the "
    "light goes out"
)
PULLED = "hold"


@dataclass(frozen=True, slots=True)
class DrillJob:
    """One drill of one step. `oven` and `beside` are texts of oven files, `model` what was learned.

    `off_stamp` is what was seen of the off stamps as the first act of the command; `quiet` is for a board
    that any reading keeps on (only for the drill that kills a program).
    """

    drill: str
    step: str
    oven: str
    off_stamp: dict[str, str]
    time_scale: float = 1.0
    model: dict[str, Any] | None = None
    beside: tuple[str, ...] = ()
    quiet: bool = False


def drill_apart(job: DrillJob, oven: str, tell: Callable[[str], object]) -> Finding:
    """Have a drill done under a supervisor of its own; return what was found.

    Ctrl-C ends it, heat off. The oven's mark goes only when that was read back, so by it a person is told.
    """
    with _file_of(job) as path:
        words = (*SUPERVISOR, "--drill", oven, "--", *PROCESS, str(path))
        process = subprocess.Popen(
            words, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, text=True, start_new_session=True
        )
        heated = False
        try:
            return _follow(process, tell, CABLE_OUT if job.drill == PULLED else NOT_OFF)
        except BaseException:
            heated = ovens_in_charge.is_marked(oven)
            process.send_signal(signal.SIGTERM)  # which the supervisor passes on: off, read back, end
            raise
        finally:
            _end(process)
            if heated:
                tell(NOT_OFF if ovens_in_charge.is_marked(oven) else OFF)


@contextlib.contextmanager
def _file_of(job: DrillJob) -> Iterator[Path]:
    """Give the job as a file that only this user can read."""
    fd, name = tempfile.mkstemp(prefix="drill-", suffix=".json", dir=home.home())
    try:
        with open(fd, "w", encoding="utf-8") as file:
            file.write(json.dumps(asdict(job)))
        yield Path(name)
    finally:
        Path(name).unlink(missing_ok=True)


def _follow(
    process: "subprocess.Popen[str]", tell: Callable[[str], object], not_read: str = NOT_OFF
) -> Finding:
    assert process.stdout is not None
    last, warned = "it gave no reason", False
    for line in process.stdout:
        try:
            frame = wire.frame_of(line.encode())
        except LinkError:
            last = line.strip() or last
            if NOT_READ in line and not warned:  # a line that only sends noise outlasts the drill's own beat
                warned = True
                tell(not_read)
            continue
        if "found" in frame:
            return wire.read(Finding, frame["found"], "found")
        tell(str(frame.get("tell", "")))
    return Finding(False, None, f"the drill ended without a result: {last}")


def settled(oven: str, clock: Clock) -> None:
    """Return when no supervisor of an earlier drill is at the oven's port any more, or after a while.

    With the cable out it goes on trying to read off, and ends soon after the cable is in again.
    """
    give_up_s = clock.real_s() + SETTLES_S
    while locked(home.home() / drill_lock(oven)) and clock.real_s() < give_up_s:
        clock.pause(LOOK_S)


def _end(process: "subprocess.Popen[str]") -> None:
    """Wait a little for the supervisor; it ends when off was read back, or keeps trying on its own."""
    with contextlib.suppress(subprocess.TimeoutExpired):
        process.wait(ENDS_S)
    if process.stdout is not None:
        process.stdout.close()
    process.returncode = process.returncode or 0  # one that still tries to cut the heat is on its own
