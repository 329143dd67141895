"""The supervisor process: starts the controller, listens to its beats, and cuts the heat when it can't.

`python -m kilnctl.processes.supervisor`, in a session of its own. It does as little as possible, so that
little can go wrong with it: no socket, no thread of its own, no record while all is well.
"""

import contextlib
import fcntl
import itertools
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator, Mapping, Sequence
from types import FrameType

from kilnctl.clock import Clock, RealClock
from kilnctl.config import home
from kilnctl.devices.emergency_off import off_all
from kilnctl.errors import KilnctlError, RunRefused
from kilnctl.marks import latch, off_stamp, running_ovens, supervisor_report
from kilnctl.marks.off_means import READS
from kilnctl.marks.process_identity import drill_lock
from kilnctl.marks.protocol import Care, with_mark
from kilnctl.marks.running_ovens import Mark
from kilnctl.processes.heartbeat import OFF_NOT_READ, Listener
from kilnctl.processes.tell_on import tell_on
from kilnctl.stages import REFUSED

SILENCE_S = 3.0  # of five seconds; the rest is for the kill (0.5 s) and the off itself
START_S = 20.0  # a slow computer's time to load the controller; nothing can be hot before the first beat
DEATH_S = 0.5  # a process stuck in the kernel does not die; the port is then opened beside it
LOOK_S = 0.1
RETRY_S = 2.0
# Of the 15 s that the service gives to a stop: one more try takes 5 s at most, the last words 1 s.
LEAVE_S = 9.0
OBEY_S = 5.0  # after a stop was passed on: off, its read-back and the last rows of the record
LOCK = "supervisor.lock"

# 4 MB of a small computer (mallopt(3); python, -X no_debug_ranges): the controller's threads take turns
# anyway, what it frees goes back, and the columns of a traceback are not kept.
FRUGAL = {
    "MALLOC_ARENA_MAX": "1",
    "MALLOC_TOP_PAD_": "0",
    "MALLOC_TRIM_THRESHOLD_": "16384",
    "PYTHONNODEBUGRANGES": "1",
}
CONTROLLER = (sys.executable, "-P", "-m", "kilnctl.processes.controller")


class Supervisor:
    """One controller and the watch over it. `command` starts the controller; `--beat-fd N` is added."""

    def __init__(
        self, command: Sequence[str] = CONTROLLER, clock: Clock | None = None, drill: str | None = None
    ) -> None:
        self._command, self._drill = tuple(command), drill
        self._clock = clock or RealClock()
        self._told, self._told_s, self._tellings = "", 0.0, 0
        self._stamps: off_stamp.Token = {}
        self._child_pid = 0
        self._charge: dict[str, Mark] = {}
        self._latches: dict[str, int | None] = {}  # open: a home may be read-only or moved when one is needed

    def run(self) -> int:
        """Watch one controller to its end; return 0 when every heat was read back as off.

        Raises RunRefused when another supervisor lives, ConfigError in a folder that others may write to.
        """
        self._stamps = off_stamp.stamps_now(home.own_home())
        with _only_one(LOCK if self._drill is None else drill_lock(self._drill)) as lock_fd:
            for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
                signal.signal(number, self._tell)
            # Left armed by a crash: the latch already says interrupted, and a resume may be allowed.
            self._cut_orphans()
            child, listener = self._start(lock_fd)
            self._child_pid = child.pid
            why = self._watch(child, listener) or "the controller ended without reading back off"
            if self._told and not listener.began:
                _log(f"an off or the system stopped it ({self._told})")  # a start that waits for it says so
            _end(child)
            _follow_home(lock_fd)
            self._take_in_marks()
            off = self._cut(why, self._charge, latches=self._drill is None)
            if off and not (self._drill is not None and all(off.values())):  # a person is beside a drill
                _keep(why, off, self._clock, self._latches)
            return 0 if all(off.values()) else 1

    def _tell(self, number: int, _frame: FrameType | None) -> None:
        self._told_s = self._told_s if self._told else self._clock.real_s()
        self._told = signal.Signals(number).name
        self._tellings += 1

    def _cut_orphans(self) -> None:
        """Cut what a crash has left; what does not answer is tried on beside the watch, and said."""
        orphans = {m.name: m for m in self._marks() if self._care(m) is Care.CUT}
        left = {name: found for name, found in orphans.items() if found.heats}
        for name in orphans.keys() - left.keys():  # nothing here has heated it
            running_ovens.clear(name, orphans[name].id)
        torn = [m.name for m in self._marks() if self._care(m) is Care.SAY]
        if torn:
            why = "the mark of a heat cannot be read; the oven may be HOT"
            _say(supervisor_report.LastWords(self._clock.utc().isoformat(), why, dict.fromkeys(torn, False)))
        if not left:
            return
        done = self._cut("the computer or the program went down during a heat", left, tries=2)
        rest = {name: found for name, found in left.items() if not done[name]}
        if rest:
            threading.Thread(target=self._try_on, args=(rest,), daemon=True).start()

    def _try_on(self, left: dict[str, Mark]) -> None:
        """Send off again and again, alone on the port, until it was read back; a later mark stays."""
        while left:
            self._clock.pause(RETRY_S)
            off = off_all([m.oven for m in left.values() if m.oven is not None], self._clock, reads=READS)
            for name in [name for name, good in off.items() if good]:
                running_ovens.clear(name, left.pop(name).id)

    def _start(self, lock_fd: int) -> tuple[subprocess.Popen[bytes], Listener]:
        ear, mouth = os.pipe()
        # The child shares the lock: a new supervisor waits until a controller without one has gone off.
        child = subprocess.Popen(
            [*self._command, "--beat-fd", str(mouth)],
            pass_fds=(mouth, lock_fd),
            stdin=subprocess.DEVNULL,
            env=os.environ | FRUGAL,
        )
        os.close(mouth)
        return child, Listener(ear, self._clock)

    def _watch(self, child: subprocess.Popen[bytes], listener: Listener) -> str:
        """Return why the watch ended; empty when the controller ended well by itself."""
        passed_on_s = looked_s = 0.0
        while child.poll() is None:
            listener.listen(LOOK_S)
            now_s = self._clock.real_s()
            if self._told and not passed_on_s:
                child.send_signal(signal.SIGTERM)
                passed_on_s = now_s
            if passed_on_s and now_s - passed_on_s > OBEY_S:
                return f"the controller did not stop after {self._told} and was killed"
            if listener.silence_s > (SILENCE_S if listener.began else START_S):
                return f"the controller was silent for {listener.silence_s:.1f} s and was killed"
            if now_s - looked_s > 1.0:
                self._take_in_marks()
                looked_s = now_s
        return _how_it_ended(child.returncode)

    def _marks(self) -> list[Mark]:
        with contextlib.suppress(KilnctlError, OSError):
            return running_ovens.marks()
        return []

    def _care(self, mark: Mark) -> Care:
        mine = mark.owner is not None and mark.owner.pid == self._child_pid
        return with_mark(mark.torn, mine, mark.lives, remembered=mark.name in self._charge)

    def _take_in_marks(self) -> None:
        """Take in the marks of this controller. Only one that was ended makes this forget its oven."""
        for found in self._marks():
            if self._care(found) is Care.WATCH and not found.torn:
                if found.name not in self._charge or self._charge[found.name].id != found.id:
                    self._hold(found.name)
                self._charge[found.name] = found
        for name in [
            name for name, held in self._charge.items() if held.id == running_ovens.ended(name) != ""
        ]:
            self._charge.pop(name)

    def _hold(self, oven: str) -> None:
        """Open the latch of an oven that has begun to heat, in the place of an earlier one."""
        if (before := self._latches.get(oven)) is not None:
            os.close(before)
        self._latches[oven] = latch.open_latch(oven)

    def _cut(
        self, why: str, charge: Mapping[str, Mark], tries: int | None = None, latches: bool = False
    ) -> dict[str, bool]:
        """Cut the heat of these ovens, exclusively first, then beside a stuck process; say what came.

        Without `tries` it goes on as long as one of them may be hot, unless it was told to leave. `latches`:
        what the first try has not switched off is latched before the next. What was only watched is sent off
        once, and not named in the answer: nothing here has heated it.
        """
        left = {name: found.oven for name, found in charge.items() if found.oven is not None}
        if not left:
            return {}
        done, tellings = {name: False for name in left if charge[name].heats}, self._tellings
        ids, watched = {name: charge[name].id for name in left}, sorted(left.keys() - done.keys())
        before: dict[str, bool] | None = None
        for attempt in itertools.count(1):
            verified = off_all(list(left.values()), self._clock, share=attempt > 1, tell=_log, reads=READS)
            done.update({name: good for name, good in verified.items() if name in done})
            left = {name: oven for name, oven in left.items() if name in done and not verified[name]}
            for name in verified.keys() - left.keys():
                running_ovens.clear(name, ids[name])
            if done != before:
                _say(supervisor_report.LastWords(self._clock.utc().isoformat(), why, done, ids, watched))
                before = dict(done)
            if latches and left and attempt == 1:
                _keep(why, dict.fromkeys(left), self._clock, self._latches)
            if not left or attempt == tries or (attempt > 1 and self._leaves(tellings)):
                break
            self._clock.pause(RETRY_S if attempt > 1 else 0.0)
        return done

    def _leaves(self, tellings: int) -> bool:
        """Return whether a stop ends the trying: one that came meanwhile, or an earlier one in its time.

        The stop that an `off` sends is no reason to leave what may be hot: who asked for off wants it off.
        """
        in_time = self._clock.real_s() - self._told_s < LEAVE_S
        if self._tellings > tellings or not self._told or in_time:
            return self._tellings > tellings
        return off_stamp.stamps_now(home.home()) == self._stamps


def _end(child: subprocess.Popen[bytes]) -> None:
    """Kill the controller if it lives; do not wait longer than `DEATH_S` for one that is stuck."""
    if child.poll() is None:
        child.kill()
        with contextlib.suppress(subprocess.TimeoutExpired):
            child.wait(DEATH_S)


def _keep(why: str, off: Mapping[str, bool | None], clock: Clock, latches: Mapping[str, int | None]) -> None:
    """Latch and record; loads what that needs only now, after off was sent, and nothing of it may raise."""
    try:
        from kilnctl.processes import post_mortem

        post_mortem.keep(why, off, clock, latches)
    except Exception as e:
        _log(f"could not be recorded: {type(e).__name__}: {e}")


def _how_it_ended(code: int) -> str:
    if code in (0, OFF_NOT_READ):
        return ""
    if code < 0:
        return f"the controller was killed ({signal.Signals(-code).name})"
    return f"the controller ended with a fault (code {code})"


@contextlib.contextmanager
def _only_one(name: str = LOCK) -> Iterator[int]:
    """Hold a lock of this home; raises RunRefused naming the process that has it."""
    fd = os.open(home.home() / name, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW, 0o600)
    try:
        try:
            fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            holder = os.read(fd, 20).decode(errors="replace").strip()
            raise RunRefused(
                f"another supervisor is running here (process {holder}); `kilnctl off` ends it"
            ) from None
        os.truncate(fd, 0)
        os.write(fd, f"{os.getpid()}\n".encode())
        yield fd
    finally:
        os.close(fd)


def _follow_home(lock_fd: int) -> None:
    """Go on in the folder of the lock, wherever it was moved meanwhile: latch and last words belong there."""
    with contextlib.suppress(OSError):
        lock = os.readlink(f"/proc/self/fd/{lock_fd}")
        if os.path.exists(lock):  # one that was taken away ends in " (deleted)"
            os.environ["KILNCTL_HOME"] = os.path.dirname(lock)


def _say(last_words: supervisor_report.LastWords) -> None:
    supervisor_report.write(last_words)
    _log(last_words.line())


def _log(line: str) -> None:
    tell_on(f"{RealClock().utc().isoformat(timespec='seconds')} supervisor: {line}")


def main(words: Sequence[str] = ()) -> int:
    """Supervise one controller, or with `--drill OVEN -- COMMAND` one drill; say in one line why not."""
    drill = words[1] if words[:1] == ["--drill"] else None
    command = CONTROLLER if drill is None else words[3:]
    try:
        return Supervisor(command, drill=drill).run()
    except RunRefused as e:
        _log(str(e))
        return REFUSED
    except (KilnctlError, OSError) as e:
        _log(str(e))
        return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
