"""A maker's shop for tests over real bytes: a home folder, an oven file, and a simulator behind its port."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import leftovers

from kilnctl.config.home import bundled

# Twenty times real time, so that a busy test machine is not mistaken for a stalled controller.
SPEED = 20


class Shop:
    """A home folder, an oven file whose port is in it, and a simulator behind that port."""

    def __init__(self, folder: Path, speed: int = SPEED) -> None:
        self.folder, self.link, self.speed = folder, folder / "oven-port", speed
        self.env = {**os.environ, "KILNCTL_HOME": str(folder / "home")}
        text = (bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
        self.oven = folder / "oven.toml"
        self.oven.write_text(text.replace("lines/tempering-oven", str(self.link)), encoding="utf-8")
        self.simulator: subprocess.Popen[bytes] | None = None

    def command(self, *words: str) -> list[str]:
        return [sys.executable, "-m", "kilnctl.cli.main", *words]

    def simulate(self, *more: str) -> None:
        words = ("simulate", str(self.oven), "--link", str(self.link), "--speed", str(self.speed), *more)
        self.simulator = subprocess.Popen(self.command(*words), env=self.env, stdout=subprocess.DEVNULL)
        give_up_s = time.monotonic() + 90.0
        while not self.link.exists():
            assert time.monotonic() < give_up_s, "the simulator did not come up"
            time.sleep(0.05)

    def run(self, *words: str, timeout_s: float = 90.0) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            self.command(*words), env=self.env, capture_output=True, text=True, timeout=timeout_s, check=False
        )

    def heat(self, *more: str) -> tuple[int, dict[str, Any]]:
        done = self.run("run", "--oven", str(self.oven), "--time-scale", str(SPEED), "--json", *more)
        assert done.stdout, done.stderr
        return done.returncode, json.loads(done.stdout.splitlines()[-1])

    def close(self) -> None:
        if self.simulator is not None:
            self.simulator.send_signal(signal.SIGCONT)  # a test that failed may have left it stopped
        leftovers.end_home(self.folder / "home")
        if self.simulator is not None:
            self.simulator.terminate()
            self.simulator.wait(60)
