"""A drill in a process of its own, under a supervisor of its own: it beats, it is marked, it obeys off.

`drill_apart` is the walk's end: it starts the supervisor of this one drill and passes on what is told.
`python -m kilnctl.commissioning.drill_process JOB --beat-fd N` is the process that heats. It looks some times
a second at the off stamps, at its supervisor and at the walk; when one of them is gone, or says off, it cuts
the heat, reads it back, and ends.
"""

import contextlib
import json
import select
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from kilnctl.clock import Clock, RealClock
from kilnctl.commissioning import drills
from kilnctl.commissioning.killing import kill
from kilnctl.config import home
from kilnctl.config.oven import Oven
from kilnctl.devices.buses import Buses
from kilnctl.devices.hands import open_hands
from kilnctl.devices.probe import Probe
from kilnctl.devices.roles import Hands
from kilnctl.errors import ConfigError, DeviceError, KilnctlError, LinkError, RunRefused
from kilnctl.link import wire
from kilnctl.logbook.readers import Reader
from kilnctl.model.oven import OvenModel
from kilnctl.runtime import off_stamp, running
from kilnctl.runtime.dead_man import Found
from kilnctl.runtime.heartbeat import Beat
from kilnctl.runtime.permit import permit_drill
from kilnctl.runtime.spawn import SUPERVISOR
from kilnctl.runtime.step_results import hash_of, results
from kilnctl.tomlfile import loads

PROCESS = (sys.executable, "-P", "-m", "kilnctl.commissioning.drill_process")
ENDS_S = 20.0  # a drill that was told to end, and its supervisor
KILLED = "killed"


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


# --- the walk's end ---


def drill_apart(job: DrillJob, oven: str, tell: Callable[[str], object]) -> Found:
    """Have a drill done under a supervisor of its own; return what was found. Ctrl-C ends it, heat off."""
    with _file_of(job) as path:
        words = (*SUPERVISOR, "--drill", oven, "--", *PROCESS, str(path))
        process = subprocess.Popen(
            words, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, text=True, start_new_session=True
        )
        try:
            return _follow(process, tell)
        except BaseException:
            process.send_signal(signal.SIGTERM)  # which the supervisor passes on: off, read back, end
            raise
        finally:
            _end(process)


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


def _follow(process: "subprocess.Popen[str]", tell: Callable[[str], object]) -> Found:
    assert process.stdout is not None
    last = "it said nothing"
    for line in process.stdout:
        try:
            frame = wire.frame_of(line.encode())
        except LinkError:
            last = line.strip() or last
            continue
        if "found" in frame:
            return wire.read(Found, frame["found"], "found")
        tell(str(frame.get("tell", "")))
    return Found(False, None, f"the drill ended without a result: {last}")


def _end(process: "subprocess.Popen[str]") -> None:
    """Wait for the supervisor; it ends when the heat was read back as off, or keeps trying on its own."""
    with contextlib.suppress(subprocess.TimeoutExpired):
        process.wait(ENDS_S)
    if process.stdout is not None:
        process.stdout.close()
    process.returncode = process.returncode or 0  # one that still tries to cut the heat is on its own


# --- the process that heats ---


class Leash:
    """What a drill is held by: off stamps, supervisor, walk, and a signal. Asked some times a second."""

    def __init__(self, beat: Beat | None, watch: Callable[[], str | None], listener: int) -> None:
        self.why = ""
        self._beat, self._watch = beat, watch
        self._poll = select.poll()
        self._poll.register(listener, 0)

    def told(self, number: int, _frame: object) -> None:
        """Take a signal: it means off."""
        self.why = self.why or f"told to stop ({signal.Signals(number).name})"

    def go_on(self) -> bool:
        """Beat, and say whether the drill may go on; `why` says why not."""
        self.why = self.why or self._why_not()
        if self._beat is not None and not self.why:
            self._beat.send()
        return not self.why

    def _why_not(self) -> str:
        off = self._watch()
        if off is not None:
            return off
        if self._beat is not None and self._beat.alone:
            return "the supervisor is dead"
        gone = any(flags & (select.POLLERR | select.POLLNVAL) for _, flags in self._poll.poll(0))
        return "nobody follows the drill any more" if gone else ""


def main(words: list[str]) -> int:
    """Do one drill; exit code 0 when the heat was read back as off at its end."""
    job = wire.read(DrillJob, json.loads(Path(words[0]).read_text(encoding="utf-8")), "drill")
    beat = Beat(int(words[-1])) if "--beat-fd" in words else None
    oven = loads(job.oven, Oven, ConfigError, "oven file")
    watch = off_stamp.Watch(job.off_stamp, home.home(), oven.name, off_stamp.outlets(job.oven))
    leash = Leash(beat, watch, sys.stdout.fileno())
    for number in (signal.SIGTERM, signal.SIGHUP, signal.SIGINT):
        signal.signal(number, leash.told)
    clock = RealClock(job.time_scale)
    found, off = Found(False, None, "the drill broke off"), True
    try:
        _insist(job, oven, clock)
        running.mark(oven.name, job.oven)
        off = False
        found = _drilled(job, oven, clock, leash)
    except KilnctlError as e:
        found = Found(False, None, f"{leash.why or e}.")
    finally:
        off = off or _left_off(oven, clock)
        with contextlib.suppress(OSError):
            print(json.dumps({"found": asdict(found)}), flush=True)
    return 0 if off else 1


def _insist(job: DrillJob, oven: Oven, clock: Clock) -> None:
    """Raise RunRefused unless this drill may heat this oven now."""
    off = off_stamp.off_since(job.off_stamp, home.home(), oven.name, off_stamp.outlets(job.oven))
    with Reader(home.logbook_path()) as reader:
        done = results(reader, oven.name)
    refusals = permit_drill(job.step, oven, done, clock.utc().timestamp(), hash_of(job.oven), off or "")
    if refusals:
        raise RunRefused("; ".join(refusals))


def _drilled(job: DrillJob, oven: Oven, clock: Clock, leash: Leash) -> Found:
    if job.drill == KILLED:
        probe = Probe(oven, clock)
        try:
            return kill(job.oven, job.time_scale, probe, clock, job.quiet, leash.go_on)
        finally:
            probe.close()
    buses = Buses(clock)
    beside = _beside(job, oven, clock, buses)
    try:
        return drills.run(
            job.drill,
            oven,
            open_hands(oven, clock, job.time_scale, buses),
            clock,
            model=None if job.model is None else OvenModel.from_dict(job.model),
            neighbours=beside,
            tell=_tell,
            go_on=leash.go_on,
        )
    finally:
        for hands in beside.values():
            hands.close()


def _beside(job: DrillJob, oven: Oven, clock: Clock, buses: Buses) -> Mapping[str, Hands]:
    """Return the hands of other ovens that can be reached: a pulse must not warm them."""
    found: dict[str, Hands] = {}
    for text in job.beside:
        try:
            other = loads(text, Oven, ConfigError, "another oven's file")
            hands = open_hands(other, clock, job.time_scale, buses)
            hands.connect()
            found[other.name] = hands
            _tell(f"watching {other.name} too")
        except (ConfigError, DeviceError, RunRefused) as e:
            _tell(f"an oven beside {oven.name} is not watched: {e}")
    return found


def _tell(line: str) -> None:
    with contextlib.suppress(OSError):
        print(json.dumps({"tell": line}), flush=True)


def _left_off(oven: Oven, clock: Clock) -> bool:
    """Send off once more with hands of its own; the mark goes only when that was read back."""
    hands = open_hands(oven, clock)
    try:
        off = hands.off()
    finally:
        hands.close()
    if off:
        running.clear(oven.name)
    return off


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
