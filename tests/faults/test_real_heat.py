"""One heat end to end over real bytes: simulator process, supervisor, controller, record, export.

Twenty times real time, so that a busy test machine is not mistaken for a stalled controller.
"""

import contextlib
import csv
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from kilnctl.config.home import bundled

SPEED = 20
FIRST_COLUMNS = ("elapsed_s", "utc", "state", "segment", "setpoint_c", "process_c", "duty", "heat_on")
pytestmark = [pytest.mark.real_bytes, pytest.mark.slow]


class Shop:
    """A home folder, an oven file whose port is in it, and a simulator behind that port."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.link = folder, folder / "oven-port"
        self.env = {**os.environ, "KILNCTL_HOME": str(folder / "home")}
        text = (bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
        self.oven = folder / "oven.toml"
        self.oven.write_text(text.replace("/tmp/kilnctl-tempering-oven", str(self.link)), encoding="utf-8")
        self.simulator: subprocess.Popen[bytes] | None = None

    def command(self, *words: str) -> list[str]:
        return [sys.executable, "-m", "kilnctl.cli.main", *words]

    def simulate(self, *more: str) -> None:
        words = ("simulate", str(self.oven), "--link", str(self.link), "--speed", str(SPEED), *more)
        self.simulator = subprocess.Popen(self.command(*words), env=self.env, stdout=subprocess.DEVNULL)
        give_up_s = time.monotonic() + 20.0
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
        self.run("off")
        lock = self.folder / "home" / "supervisor.lock"
        if lock.exists() and lock.read_text().strip():
            with contextlib.suppress(ProcessLookupError):
                os.kill(int(lock.read_text()), signal.SIGTERM)
        if self.simulator is not None:
            self.simulator.terminate()
            self.simulator.wait(10)


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    made = Shop(tmp_path)
    yield made
    made.close()


def test_a_heat_from_the_command_line_to_the_exported_record(shop: Shop) -> None:
    shop.simulate()
    code, summary = shop.heat("--soak", "24C", "--for", "90s")
    assert (code, summary["outcome"]) == (0, "complete"), summary
    assert summary["heat_off_confirmed"]
    assert summary["simulated"]
    assert summary["segments"][1]["soak_credited_s"] == pytest.approx(90.0, abs=3.0)

    out = shop.folder / "heat.csv"
    run = str(summary["run"])
    assert shop.run("export", run, "--format", "csv", "--out", str(out)).returncode == 0
    with out.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert list(rows[0])[:8] == [
        "elapsed_s",
        "utc",
        "state",
        "segment",
        "setpoint_c",
        "process_c",
        "duty",
        "heat_on",
    ]
    assert rows[-1]["state"] == "complete"
    assert any(row["heat_on"] == "1" for row in rows)
    assert max(float(row["process_c"]) for row in rows) == pytest.approx(summary["peak_c"], abs=0.11)
    assert "unchanged" in shop.run("verify", run).stdout


def test_record_only_watches_and_never_heats(shop: Shop) -> None:
    shop.simulate()
    words = ("run", "--oven", str(shop.oven), "--record-only", "--time-scale", str(SPEED), "--json")
    watching = subprocess.Popen(shop.command(*words), env=shop.env, stdout=subprocess.PIPE, text=True)
    time.sleep(5.0)
    watching.send_signal(signal.SIGINT)
    stdout, _ = watching.communicate(timeout=30)
    summary = json.loads(stdout.splitlines()[-1])
    assert (watching.returncode, summary["outcome"], summary["energy_kwh"]) == (5, "stopped", 0.0)


def test_a_simulator_at_another_speed_is_refused(shop: Shop) -> None:
    shop.simulate()
    words = ("run", "--oven", str(shop.oven), "--soak", "28C", "--for", "1min", "--time-scale", "7")
    done = shop.run(*words)
    assert done.returncode == 3
    assert done.stderr.strip().endswith("the simulator runs at 20 ×, not at 7 ×")
