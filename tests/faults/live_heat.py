"""A whole heat over real bytes for tests of processes: simulator, supervisor, controller, attached `run`.

The simulator is a process of its own: its truth crosses as one line of JSON on a socket pair, so that no
test thread can slow down the board. Nothing here looks at what kilnctl says about the heat.
"""

import contextlib
import io
import json
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import leftovers
from histories.forking import REGISTER, Command, shared

from kilnctl.cli.main import run
from kilnctl.config import home
from kilnctl.errors import ProfileError
from kilnctl.link.client import LinkClient
from kilnctl.link.snapshot import Answer
from kilnctl.link.snapshot import Command as Order
from kilnctl.marks import off_stamp
from kilnctl.processes.spawn import SUPERVISOR, answers, ensure_controller
from kilnctl.profile.message import data_of
from kilnctl.profile.segments import Profile
from kilnctl.tomlfile import loads

KILNCTL = Path(sys.executable).with_name("kilnctl")
SIMULATOR = Path(__file__).with_name("simulator_with_truth.py")
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


@dataclass
class LiveHeat:
    """One oven in a home of its own, at `speed` times real time."""

    home: Path
    speed: int = 10
    name: str = "small"
    drops_after_s: int = 10
    started: list[subprocess.Popen[str] | Command] = field(default_factory=list)
    loading: bool = False  # processes load what they need, as for a person; otherwise they are forked
    simulator: subprocess.Popen[str] | None = None
    _wire: socket.socket | None = None

    @property
    def oven(self) -> Path:
        """The oven file, with the port of this test."""
        return self.home / "ovens" / f"{self.name}.toml"

    @property
    def link(self) -> Path:
        """Where the simulator's pseudo-terminal is."""
        return self.home / f"line-{self.name}"

    def write_oven(self) -> None:
        """Write the bundled tempering oven under another name and port."""
        text = (home.bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
        text = text.replace("lines/tempering-oven", str(self.link)).replace("tempering-oven", self.name)
        self.oven.parent.mkdir(exist_ok=True)
        self.oven.write_text(text, encoding="utf-8")

    def plug_in(self, *faults: str) -> None:
        """Start the simulator and wait until its line is there."""
        mine, its = socket.socketpair()
        words = [str(SIMULATOR), str(its.fileno()), str(self.oven), str(self.link), str(self.speed), *faults]
        self.simulator = subprocess.Popen([sys.executable, *words], text=True, pass_fds=(its.fileno(),))
        its.close()
        self._wire = mine
        self.truth()

    def unplug(self) -> None:
        """Kill the simulator: port and board are gone at once."""
        assert self.simulator is not None
        assert self._wire is not None
        self.simulator.kill()
        self.simulator.wait()
        self._wire.close()
        self.simulator = None

    def truth(self) -> dict[str, Any]:
        """Ask the simulator what is really so."""
        assert self._wire is not None
        self._wire.sendall(b"?")
        said: dict[str, Any] = json.loads(self._wire.recv(65536))
        return said

    def hot(self) -> bool:
        """True while heat really flows."""
        return bool(self.truth()["heater_contact"])

    def say(self, *words: str) -> subprocess.CompletedProcess[str]:
        """Run one kilnctl command to its end."""
        if self.loading:
            return subprocess.run([KILNCTL, *words], capture_output=True, text=True, timeout=120, check=False)
        command = shared().piped(words, self._env())
        out, err = command.communicate(timeout=120)
        return subprocess.CompletedProcess(words, command.returncode or 0, out, err)

    def ask(self, *words: str) -> tuple[int, str, str]:
        """Run one command in this process, a tenth of the cost: what it returns, says, and complains of."""
        said, complained = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(said), contextlib.redirect_stderr(complained):
            code = run(list(words))
        return code, said.getvalue(), complained.getvalue()

    def start(self, *words: str) -> subprocess.Popen[str] | Command:
        """Start a kilnctl command in a session of its own, like one in a terminal."""
        if not self.loading:
            self.started.append(command := shared().piped(words, self._env()))
            return command
        process = subprocess.Popen(
            [KILNCTL, *words],
            text=True,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            start_new_session=True,
        )
        self.started.append(process)
        return process

    def _env(self) -> dict[str, str]:
        return {**os.environ, REGISTER: str(leftovers.register(self.home))}

    def _supervised(self) -> None:
        """Have a supervisor and a controller, forked."""
        with (self.home / "controller.log").open("ab") as log, open(os.devnull, "rb") as nothing:
            fds = (nothing.fileno(), log.fileno(), log.fileno())
            self.started.append(shared().start((), self._env(), fds, SUPERVISOR[-1]))
        ensure_controller()

    def heat(self, text: str = FULL_POWER) -> subprocess.Popen[str] | Command:
        """Start a run, at full power if nothing else is asked, and return when heat flows."""
        job = self.home / "full-power.toml"
        job.write_text(text, encoding="utf-8")
        words = ("run", str(job), "--oven", str(self.oven), "--time-scale", str(self.speed), "--json")
        process = self.start(*words)
        assert until(lambda: self.hot() or process.poll() is not None, 90.0)
        assert process.poll() is None, process.communicate()
        return process

    def order(self, text: str = FULL_POWER, **more: object) -> Answer:
        """Send the message that `run` sends, with no view of the heat; return what the controller answers."""
        asked = {
            "oven": self.oven.read_text(encoding="utf-8"),
            "profile": data_of(loads(text, Profile, ProfileError, "profile")),
            "off_stamp": off_stamp.stamps_now(self.home),
            "time_scale": self.speed,
            **more,
        }
        ensure_controller() if self.loading or answers() else self._supervised()
        with LinkClient(home.socket_path()) as client:
            return client.ask(Order("run", self.name, asked, "test"), 30.0)

    def begin(self, text: str = FULL_POWER, **more: object) -> None:
        """Start a heat with no view of it; return when heat flows."""
        answer = self.order(text, **more)
        assert answer.accepted, answer.why
        assert until(self.hot, 90.0)

    def supervisor(self) -> int:
        """Return the process number of the supervisor."""
        return int((self.home / "supervisor.lock").read_text())

    def controller(self) -> int:
        """Return the process number of the controller."""
        parent = self.supervisor()
        children = Path(f"/proc/{parent}/task/{parent}/children").read_text().split()
        assert len(children) == 1
        return int(children[0])

    def close(self) -> None:
        """End everything that still lives."""
        for process in self.started:
            with contextlib.suppress(ProcessLookupError):
                process.kill()
            process.communicate()
        leftovers.end_home(self.home)
        if self.simulator is not None:
            self.unplug()


def until(happened: Callable[[], bool], real_s: float, look_s: float = 0.02) -> bool:
    """Wait for something, with a look each `look_s`; return whether it came within `real_s`."""
    end_s = time.monotonic() + real_s
    while time.monotonic() < end_s:
        if happened():
            return True
        time.sleep(look_s)
    return happened()


def alive(pid: int) -> bool:
    """True while a process runs (a zombie does not)."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


@contextlib.contextmanager
def live_heat(speed: int = 10, loading: bool = False) -> Iterator[LiveHeat]:
    """Give a home with an oven and its simulator plugged in; take everything down afterwards."""
    folder = Path(tempfile.mkdtemp(prefix="kiln-"))  # short: a socket's path may have about 100 characters
    before = os.environ.get("KILNCTL_HOME")
    os.environ["KILNCTL_HOME"] = str(folder)
    heat = LiveHeat(folder, speed, loading=loading)
    try:
        heat.write_oven()
        heat.plug_in()
        yield heat
    finally:
        heat.close()
        os.environ.pop("KILNCTL_HOME")
        if before is not None:
            os.environ["KILNCTL_HOME"] = before
        leftovers.register(folder).unlink(missing_ok=True)
        shutil.rmtree(folder, ignore_errors=True)
