"""`kilnctl demo` leaves nothing running and the heat off, however it ends; seen in the system's own lists."""

import contextlib
import os
import re
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from contextlib import closing
from pathlib import Path

import pytest

from kilnctl.cli.heat.simulated_pace import pace_of
from kilnctl.cli.oven import simulate
from kilnctl.config.oven import find_oven
from kilnctl.errors import RunRefused

DEMO = [sys.executable, "-m", "kilnctl.cli.main", "demo"]


def processes_of(folder: Path) -> list[str]:
    """Every process whose environment names the demo's folder, as the system lists it."""
    found = []
    for entry in Path("/proc").glob("[0-9]*"):
        try:
            if f"KILNCTL_HOME={folder}".encode() in (entry / "environ").read_bytes().split(b"\0"):
                found.append((entry / "cmdline").read_bytes().replace(b"\0", b" ").decode())
        except OSError:
            continue
    return found


@pytest.fixture
def tmp_path():
    """A short folder: the demo goes elsewhere where its socket's path would be too long."""
    with tempfile.TemporaryDirectory(prefix="demo-", dir="/tmp") as folder:
        yield Path(folder)


@pytest.fixture
def demo(tmp_path: Path):
    env = {**os.environ, "TMPDIR": str(tmp_path), "KILNCTL_HOME": str(tmp_path / "own")}
    process = subprocess.Popen(DEMO, env=env, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    yield process
    process.kill()
    process.communicate()


def until(process: "subprocess.Popen[str]", words: str) -> str:
    said = ""
    for line in process.stdout:
        said += line
        if re.search(words, line):
            break
    return said


@pytest.mark.real_bytes
@pytest.mark.slow
@pytest.mark.parametrize(
    "number", [signal.SIGINT, pytest.param(signal.SIGHUP, marks=pytest.mark.on_demand)]
)  # a kill goes the way of a hang-up
def test_ended_in_the_heat_it_leaves_nothing(demo, tmp_path: Path, number: int) -> None:
    said = until(demo, "^heating")
    folder = next(tmp_path.glob("kilnctl-demo-*"))
    assert processes_of(folder), said
    demo.send_signal(number)
    out, _ = demo.communicate(timeout=40)
    assert processes_of(folder) == [], out
    assert "heat off, read back" in said + out or not list((folder / "running").iterdir())
    assert "Traceback" not in said + out
    assert not (tmp_path / "own").exists()  # nothing of the maker's own was touched


@pytest.mark.real_bytes
@pytest.mark.on_demand
def test_killed_it_leaves_nothing_either(demo, tmp_path: Path) -> None:
    """Nobody can mind a kill -9: the line dies with the demo, the heat trips, and the rest ends by itself."""
    until(demo, "^heating")
    folder = next(tmp_path.glob("kilnctl-demo-*"))
    demo.kill()
    give_up_s = time.monotonic() + 90
    while processes_of(folder) and time.monotonic() < give_up_s:
        time.sleep(0.5)
    assert processes_of(folder) == []


@pytest.mark.real_bytes
@pytest.mark.on_demand
def test_a_whole_demo_is_whole_and_says_what_to_try_next(demo, tmp_path: Path) -> None:
    out, _ = demo.communicate(timeout=600)
    folder = next(tmp_path.glob("kilnctl-demo-*"))
    assert demo.returncode == 0, out
    assert "<svg" in (folder / "demo.html").read_text(encoding="utf-8")
    assert processes_of(folder) == []
    with closing(sqlite3.connect(folder / "logbook.sqlite")) as book:
        outcome, gaps = book.execute("SELECT outcome, gaps FROM run").fetchone()
    assert outcome == "complete"
    assert (gaps > 0) == ("too busy" in out)
    assert "kilnctl guide first-temper" in out


def test_a_simulator_that_runs_faster_than_this_computer_is_refused(own_home: Path) -> None:
    """A round on a real pseudo-terminal takes longer than half a millisecond anywhere; a tick is one here."""
    oven = find_oven("tempering-oven")
    with contextlib.closing(simulate.start(oven, speed=1000)):
        with pytest.raises(RunRefused, match=r"too fast.*--speed \d+"):
            pace_of(oven, None)
        assert pace_of(oven, 20.0) == 20.0, "what every computer holds is not measured"
