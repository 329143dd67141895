"""Where a history happens: two homes, two ovens, the board process, and kilnctl only as a command.

Nothing of kilnctl is imported. Every command is kept with its times, its exit code and its words.
"""

import contextlib
import json
import os
import pty
import re
import resource
import select
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Any

from histories.forking import REGISTER, Command, Nursery

KILNCTL = Path(sys.executable).with_name("kilnctl")
BOARD = Path(__file__).with_name("board.py")
OVENS = {"A": 4711, "B": 4712}
HOMES = ("one", "two")
# What a set-up walk asks for in words; to everything else the answer is yes.
ANSWERS: dict[str, str | Callable[[], str]] = {
    r"independent limit": "275 C",
    r"Which machine": "small oven, own fuse",
    r"thermometer": "20 C",
    r"stay on after": "10 s",
    r"Note ": "as written",
}
DISK = "48m"  # a heat is refused below 20 MB
FULL_POWER = """
name = "full power"

[[segment]]
kind = "ramp"
to = "240 C"

[[segment]]
kind = "soak"
at = "240 C"
time = "4 h"
clock = "oven"
"""
OVEN_FILE = """# Invented data.
name = "{name}"
simulated = {simulated}
use = "tempering"
build = "leaky"
power = "1200 W"
tune_ceiling = "150 C"
limit = "260 C"
isolator = "red switch {name}"
switching = {{ kind = "solid-state", window = "10 s", min_on = "1 s", min_off = "1 s" }}
port.bus = {{ path = "{link}", baud = 115200 }}
device.board = {{ port = "bus", address = 1 }}
identity = [{{ device = "board", table = "holding", register = 100, expect = {identity} }}]

[signal]
process = {{ device = "board", table = "input", register = 0, scale = 0.1, unit = "C", low = "-30 C", \
high = "400 C", open_values = [32767], couple = "K" }}
heater_live = {{ device = "board", table = "discrete", register = 1 }}
door_open = {{ device = "board", table = "discrete", register = 0 }}

[output]
heater = {{ device = "board", table = "coil", register = 0 }}
contactor = {{ device = "board", table = "coil", register = 1 }}
horn = {{ device = "board", table = "coil", register = 2 }}
lamp = {{ device = "board", table = "coil", register = 3 }}

[dead_man]
device = "board"
table = "holding"
register = 0
write = {drops_s}
drops_after = "{drops_s} s"
"""


@dataclass
class Said:
    """One command: when it began, what it was, and, when it is over, how it ended."""

    words: tuple[str, ...]
    home: str
    began_s: float
    process: subprocess.Popen[str] | Command
    killed: str = ""  # the signal that the history sent to it
    ended_s: float | None = None
    out: str = ""
    err: str = ""
    typed: int = -1  # the terminal of a command that asks
    told: str = ""  # what it said there
    earlier_cpu_s: dict[int, float] = field(default_factory=dict)  # of an off: how far each start had come

    @property
    def code(self) -> int | None:
        """Return the exit code, None while it goes on."""
        return self.process.returncode if self.ended_s is not None else None

    @property
    def oven(self) -> str | None:
        """Return the oven that the words name."""
        words = list(self.words)
        if "--oven" in words:
            return Path(words[words.index("--oven") + 1]).stem
        return Path(words[1]).stem if words[0] in ("commission", "tune") else None

    @property
    def summary(self) -> dict[str, Any]:
        """Return what the command printed last as one JSON object, if it did."""
        with contextlib.suppress(ValueError, IndexError):
            said = json.loads(self.out.strip().splitlines()[-1])
            return said if isinstance(said, dict) else {}
        return {}


class Place:
    """Two homes and two ovens in a folder of its own; `close` ends whatever was started here."""

    def __init__(
        self,
        speed: int = 5,
        simulated: Collection[str] = OVENS,
        drops_s: int = 10,
        nursery: Nursery | None = None,
    ) -> None:
        self.speed, self.simulated, self.drops_s, self.nursery = speed, simulated, drops_s, nursery
        self.folder = Path(tempfile.mkdtemp(prefix="kh-"))  # short: a socket's path may have 107 characters
        self.log_path = self.folder / "truth.jsonl"
        self.said: list[Said] = []
        self.events: list[tuple[float, str, str]] = []  # what the history did besides commands
        self._mounted: dict[str, Path] = {}
        self._homes: dict[str, list[Path]] = {}  # each with the paths that it has had, the newest last
        self._full: set[str] = set()
        self._read_only: set[str] = set()
        self._started: dict[str, dict[tuple[int, str], str]] = {}  # by home: number and start, what it is
        self._held: list[Any] = []
        self._waiting: list[threading.Thread] = []
        for home in HOMES:
            self._make_home(home)
        self._start_boards()

    def home(self, name: str) -> Path:
        """Return the folder of a home."""
        return self._homes[name][-1]

    def disk(self, name: str) -> Path:
        """Return the folder that a home lies in: a disk of its own, where one may be mounted."""
        return self.folder / f"disk-{name}"

    def oven_file(self, home: str, oven: str) -> Path:
        """Return an oven file."""
        return self.home(home) / "ovens" / f"{oven}.toml"

    def oven_text(self, oven: str, simulated: bool | None = None) -> str:
        """Return the text of an oven file."""
        said = str(oven in self.simulated if simulated is None else simulated).lower()
        link, identity = self.folder / f"port-{oven}", OVENS[oven]
        return OVEN_FILE.format(name=oven, simulated=said, link=link, identity=identity, drops_s=self.drops_s)

    def _make_home(self, name: str) -> None:
        self.disk(name).mkdir(mode=0o700)
        if os.geteuid() == 0:
            words = ["mount", "-t", "tmpfs", "-o", f"size={DISK},mode=700", "none", str(self.disk(name))]
            if subprocess.run(words, capture_output=True, check=False).returncode == 0:
                self._mounted[name] = self.disk(name)
        home = self.disk(name) / name
        self._homes[name] = [home]
        (home / "ovens").mkdir(mode=0o700, parents=True)
        home.chmod(0o700)
        for oven in OVENS:
            self.oven_file(name, oven).write_text(self.oven_text(oven), encoding="utf-8")

    def _start_boards(self) -> None:
        self._wire, its = socket.socketpair()
        boards = [
            json.dumps(
                {
                    "name": oven,
                    "link": str(self.folder / f"port-{oven}"),
                    "speed": self.speed,
                    "simulated": oven in self.simulated,
                    "identity": identity,
                }
            )
            for oven, identity in OVENS.items()
        ]
        words = [sys.executable, "-S", str(BOARD), str(its.fileno()), str(self.log_path), *boards]
        self.boards = subprocess.Popen(words, pass_fds=(its.fileno(),))
        its.close()
        self.board("A", "look")

    def board(self, oven: str, do: str, **more: Any) -> dict[str, Any]:
        """Do something at a board; return how it stands."""
        if do != "look":
            self.note(f"board {do}", f"{oven} {more}")
        self._wire.sendall(json.dumps({"board": oven, "do": do, **more}).encode())
        said: dict[str, Any] = json.loads(self._wire.recv(4096))
        return said

    def note(self, what: str, about: str = "") -> None:
        """Keep what the history did, and when."""
        self.events.append((time.monotonic(), what, about))

    def heat(
        self, home: str, oven: str, *more: str, file: Path | None = None, terminal: bool = False
    ) -> Said:
        """Start a run at full power."""
        job = self.folder / "full-power.toml"
        job.write_text(FULL_POWER, encoding="utf-8")
        where = ("--oven", str(file or self.oven_file(home, oven)), *self.scale())
        return self.start(home, "run", str(job), *where, *more, terminal=terminal)

    def drill(self, home: str, oven: str) -> Said:
        """Walk through the set-up up to its first drill, as somebody who says yes to everything."""
        words = ("commission", str(self.oven_file(home, oven)), *self.scale())
        return self.at_terminal(home, *words)

    def at_terminal(self, home: str, *words: str, watching: str = "A") -> Said:
        """Start a command at a terminal, with somebody there who says yes and sees the lamp of an oven."""
        said = self.start(home, *words, terminal=True)
        eye = lambda: self.lamp_told(watching)  # noqa: E731
        threading.Thread(target=_type, args=(said, eye), daemon=True).start()
        return said

    def lamp_told(self, oven: str) -> str:
        """Return the numbers that the lamp of an oven told last: short calls after one long one."""
        turns = [
            (e["t"], e["on"])
            for e in self.truth()
            if e["event"] == "relay" and e["board"] == oven and e["coil"] == 3
        ]
        calls = [(on_s, off_s - on_s) for (on_s, on), (off_s, _) in pairwise(turns) if on]
        began = max((i for i, (_, lasted_s) in enumerate(calls) if lasted_s > 1.0), default=-1)
        numbers: list[int] = []
        for (before_s, lasted_s), (on_s, _) in pairwise(calls[began:]):
            if not numbers or on_s - before_s - lasted_s > 1.0:
                numbers.append(0)
            numbers[-1] += 1
        return " ".join(map(str, numbers))

    def scale(self) -> tuple[str, ...]:
        """Return the words that name the time scale."""
        return ("--time-scale", str(self.speed))

    def hot(self, oven: str) -> bool:
        """Return whether the relay of the heater is on."""
        return bool(self.board(oven, "look")["hot"])

    def closed(self, oven: str) -> bool:
        """Return whether anything of the heat is on: heater or contactor."""
        stands = self.board(oven, "look")
        return bool(stands["hot"] or stands["closed"])

    def came_on(self, oven: str, since_s: float) -> list[float]:
        """Return when a request switched the heater on, as seconds after a moment."""
        return [
            round(line["t"] - since_s, 2)
            for line in self.truth()
            if (line["event"], line["board"], line.get("coil")) == ("relay", oven, 0)
            and line["on"]
            and line["by"] != "hand"
            and line["t"] > since_s
        ]

    def env(self, home: str) -> dict[str, str]:
        """Return the environment of a command in a home."""
        own = {"KILNCTL_HOME": str(self.home(home)), REGISTER: str(self._register)}
        return {**os.environ, **own, "WALL_STEP": str(self.wall_step)}

    @property
    def wall_step(self) -> Path:
        """The file that says by how many seconds the wall clock is wrong, where one may be exchanged."""
        return self.folder / "wall-step"

    @property
    def _register(self) -> Path:
        """The file in which processes that were forked write down what they are."""
        return self.folder / "register"

    def start(self, home: str, *words: str, terminal: bool = False) -> Said:
        """Start a command; its end is seen by a thread of its own."""
        inner: int = subprocess.DEVNULL
        outer = -1
        if terminal:
            outer, inner = pty.openpty()
        said = Said(words, home, time.monotonic(), self._popen(home, words, inner), typed=outer)
        if terminal:
            os.close(inner)
        if words[0] == "off":
            said.earlier_cpu_s = {
                i: cpu_s(s.process.pid) for i, s in enumerate(self.said) if s.ended_s is None
            }
        self.said.append(said)
        thread = threading.Thread(target=_wait, args=(said,), daemon=True)
        thread.start()
        self._waiting.append(thread)
        return said

    def hold_process(self, words: list[str], home: str) -> None:
        """Start a process of a home that is no command of kilnctl."""
        process = subprocess.Popen(
            words,
            env=self.env(home),
            cwd=self.home(home),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        self._waiting.append(threading.Thread(target=process.wait, daemon=True))
        self._waiting[-1].start()

    def _popen(self, home: str, words: tuple[str, ...], inner: int) -> subprocess.Popen[str] | Command:
        if self.nursery is not None:
            return self._forked(self.nursery, home, words, inner)
        return subprocess.Popen(
            [str(KILNCTL), *words],
            env=self.env(home),
            text=True,
            errors="replace",
            stdin=inner,
            stdout=inner if inner >= 0 else subprocess.PIPE,
            stderr=inner if inner >= 0 else subprocess.PIPE,
            start_new_session=True,
        )

    def _forked(self, nursery: Nursery, home: str, words: tuple[str, ...], inner: int) -> Command:
        if inner >= 0:
            return nursery.start(words, self.env(home), (inner, inner, inner))
        return nursery.piped(words, self.env(home))

    def say(self, home: str, *words: str, within_s: float = 40.0) -> Said:
        """Run a command to its end, or for so long."""
        said = self.start(home, *words)
        until(lambda: said.ended_s is not None, within_s)
        return said

    def processes(self, home: str) -> dict[str, list[int]]:
        """Return the living processes of a home by what they are: supervisor, controller, other."""
        if self.nursery is not None:
            return self._registered(home)
        marks = {f"KILNCTL_HOME={path}".encode() for path in self._homes[home]}
        found: dict[str, list[int]] = {"supervisor": [], "controller": [], "other": []}
        for path in Path("/proc").glob("[0-9]*"):
            with contextlib.suppress(OSError):
                if marks.isdisjoint((path / "environ").read_bytes().split(b"\0")) or not _lives(path):
                    continue
                words = (path / "cmdline").read_bytes().decode(errors="replace")
                kind = next((k for k in ("supervisor", "controller") if f".{k}" in words), "other")
                found[kind].append(int(path.name))
        return found

    def _registered(self, home: str) -> dict[str, list[int]]:
        found: dict[str, list[int]] = {"supervisor": [], "controller": [], "other": []}
        lines = self._register.read_text().splitlines() if self._register.exists() else []
        started = self._started.setdefault(home, {})
        for pid, began, kind, its_home in (line.split(" ", 3) for line in lines):
            if Path(its_home) in self._homes[home]:
                started.setdefault((int(pid), began), kind)
        for (number, began), kind in list(started.items()):
            if _began(number) == began:
                found[kind].append(number)
                started |= {key: its for key, its in _children(number).items() if key not in started}
        return found

    def everybody(self, home: str) -> list[int]:
        """Return every living process of a home."""
        return [pid for pids in self.processes(home).values() for pid in pids]

    def send(self, home: str, kind: str, number: signal.Signals) -> list[int]:
        """Send a signal to the supervisor or the controller of a home."""
        sent = self.processes(home)[kind]
        for pid in sent:
            with contextlib.suppress(ProcessLookupError):
                os.kill(pid, number)
        self.note(f"{number.name} {kind}", f"{home} {sent}")
        return sent

    def hold(self, thing: Any) -> None:
        """Keep something (a connection, a lock) open until the end or `let_go`."""
        self._held.append(thing)

    def let_go(self) -> None:
        """Close everything that is held."""
        for thing in self._held:
            with contextlib.suppress(Exception):
                thing.close()
        self._held.clear()

    def fill(self, home: str) -> None:
        """Fill the disk of a home; without the right to mount, no process of it may write a byte."""
        self.note("disk full", home)
        self._full.add(home)
        if home in self._mounted:
            with contextlib.suppress(OSError), (self.disk(home) / "filler").open("wb", 0) as file:
                while True:
                    file.write(bytes(1 << 16))
            with contextlib.suppress(OSError), (self.disk(home) / "filler").open("ab", 0) as file:
                while True:
                    file.write(b".")
            return
        for pid in self.everybody(home):
            with contextlib.suppress(OSError):
                resource.prlimit(pid, resource.RLIMIT_FSIZE, (0, resource.RLIM_INFINITY))

    def free(self, home: str) -> None:
        """Make room again."""
        self.note("disk free", home)
        self._full.discard(home)
        with contextlib.suppress(OSError):
            (self.disk(home) / "filler").unlink(missing_ok=True)
        if home not in self._mounted:
            for pid in self.everybody(home):
                with contextlib.suppress(OSError):
                    resource.prlimit(
                        pid, resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY)
                    )

    def mend_disks(self) -> None:
        """Make room, and let what was made read-only be written again."""
        for home in list(self._full):
            self.free(home)
        for home in list(self._read_only):
            self.read_only(home, False)

    def read_only(self, home: str, on: bool = True) -> None:
        """Let nobody open a file of a home to write, as after a disk's fault; only where one may mount."""
        if home not in self._mounted or on is (home in self._read_only):
            return
        disk = str(self.disk(home))
        above = [["mount", "--bind", disk, disk], ["mount", "-o", "remount,bind,ro", disk]]
        done = [
            subprocess.run(words, capture_output=True, check=False).returncode
            for words in (above if on else [["umount", "-l", disk]])
        ]
        (self._read_only.add if on else self._read_only.discard)(home)
        self.note("read only" if on else "writable", f"{home} {done}")

    def move(self, home: str) -> None:
        """Move a home to another place, as `mv` does; what is said there later is said with the new path."""
        new = self.disk(home) / f"{home}-{len(self._homes[home])}"
        with contextlib.suppress(OSError):
            self.home(home).rename(new)
            self._homes[home].append(new)
        self.note("home moved", f"{home} {new}")

    def truth(self) -> Iterator[dict[str, Any]]:
        """Return the log of the boards."""
        with self.log_path.open(encoding="utf-8") as lines:
            yield from map(json.loads, lines)

    def close(self) -> None:
        """End everything that was started here, by its number, and take the folder away."""
        self.let_go()
        for home in HOMES:
            for _ in range(3):
                for pid in self.everybody(home):
                    with contextlib.suppress(ProcessLookupError):
                        os.kill(pid, signal.SIGKILL)
        for thread in self._waiting:
            thread.join(5.0)
        self._wire.close()
        with contextlib.suppress(subprocess.TimeoutExpired):
            self.boards.wait(5.0)
        self.boards.kill()
        for said in self.said:
            if said.typed >= 0:
                os.close(said.typed)
        for path in self._mounted.values():
            subprocess.run(["umount", "-l", str(path)], capture_output=True, check=False)
        shutil.rmtree(self.folder, ignore_errors=True)


def _wait(said: Said) -> None:
    try:
        out, err = said.process.communicate()
    except (OSError, ValueError):
        out, err = "", ""
    said.out, said.err, said.ended_s = out or said.told, err or "", time.monotonic()


def _type(said: Said, eye: Callable[[], str]) -> None:
    """Answer what a command asks at its terminal until it ends."""
    seen = 0
    while said.ended_s is None:
        if not select.select([said.typed], [], [], 0.2)[0]:
            asked = said.told[seen:].rpartition("\n")[2]
            if re.search(r"[:?\]] $", asked):
                seen = len(said.told)
                found = next((a for p, a in ANSWERS.items() if re.search(p, asked)), "y")
                answer = found() if callable(found) else found
                answer = eye() if "numbers after one long call" in asked else answer
                os.write(said.typed, (answer if asked.endswith("] ") else f"{answer}\n").encode())
            continue
        try:
            said.told += os.read(said.typed, 65536).decode(errors="replace").replace("\r\n", "\n")
        except OSError:
            return


def _began(pid: int) -> str:
    """Return when a process began, as the kernel counts; empty where it does not live."""
    try:
        stands = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return ""
    return "" if stands[0] in "ZX" else stands[19]


def _children(pid: int) -> dict[tuple[int, str], str]:
    """Return what a process has started; one that was not forked stands in no register."""
    found = {}
    with contextlib.suppress(OSError):
        for child in map(int, Path(f"/proc/{pid}/task/{pid}/children").read_text().split()):
            words = Path(f"/proc/{child}/cmdline").read_text(errors="replace")
            kind = next((k for k in ("supervisor", "controller") if f".{k}\0" in words), "other")
            found[child, _began(child)] = kind
    return found


def _lives(path: Path) -> bool:
    return (path / "stat").read_text().rpartition(")")[2].split()[0] not in "ZX"


def cpu_s(pid: int) -> float:
    """Return the processor time that a process has had: how far its beginning has come."""
    try:
        spent = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[11:13]
    except OSError:
        return 0.0
    return sum(map(int, spent)) / os.sysconf("SC_CLK_TCK")


def until(happened: Callable[[], bool], real_s: float) -> bool:
    """Wait for something; return whether it came."""
    end_s = time.monotonic() + real_s
    while time.monotonic() < end_s:
        if happened():
            return True
        time.sleep(0.02)
    return happened()
