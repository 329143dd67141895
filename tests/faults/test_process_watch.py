"""The supervisor over a controller that hangs, dies, raises, goes deaf: off at the board within five seconds.

The bound of five seconds from the last beat is the project's own promise; that a heat must end without its
controller is common practice, no single source. Judged by the board's coil, not by what the program says.
"""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from faults.relay_board import RelayBoard

from kilnctl.config import home
from kilnctl.marks import latch, running_ovens

HERE = Path(__file__).parent
PROMISED_S = 5.0
pytestmark = pytest.mark.real_bytes


@pytest.fixture
def board(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[RelayBoard]:
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    with RelayBoard() as board:
        text = (home.bundled("ovens") / "tempering-oven.toml").read_text()
        (tmp_path / "oven.toml").write_text(text.replace("lines/tempering-oven", board.path))
        (tmp_path / "port").write_text(board.path)
        yield board


Watch = Callable[[str], subprocess.Popen[str]]


@pytest.fixture
def watch(board: RelayBoard) -> Iterator[Watch]:
    """Start the real supervisor over a wild controller; whatever still lives at the end is told to stop."""
    started: list[subprocess.Popen[str]] = []

    def start(how: str) -> subprocess.Popen[str]:
        command = [sys.executable, str(HERE / "watch_over.py"), str(HERE / "wild_controller.py"), how]
        started.append(subprocess.Popen(command, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE))
        return started[-1]

    yield start
    for process in started:
        process.terminate()
        process.communicate(timeout=90)


def after_last_beat_s(board: RelayBoard, tmp_path: Path) -> float:
    return board.dropped_s - float((tmp_path / "beat").read_text())


def last_words(tmp_path: Path) -> dict[str, object]:
    said: dict[str, object] = json.loads((tmp_path / "last-words.json").read_text())
    return said


@pytest.mark.parametrize(
    ("how", "why"),
    [
        ("hangs", "silent for 3"),
        ("stops", "silent for 3"),
        ("raises", "ended with a fault (code 1)"),
        ("dies", "was killed (SIGKILL)"),
        ("forgets", "the controller ended"),
    ],
)
def test_a_lost_controller_leaves_no_heat(
    watch: Watch, how: str, why: str, board: RelayBoard, tmp_path: Path
) -> None:
    supervisor = watch(how)
    assert board.wait_hot(True, 60), supervisor.communicate(timeout=90)
    out, err = supervisor.communicate(timeout=90)
    assert not board.hot
    assert after_last_beat_s(board, tmp_path) < PROMISED_S
    assert supervisor.returncode == 0, (out, err)  # read back as off
    assert why in str(last_words(tmp_path)["why"])
    assert last_words(tmp_path)["off"] == {"tempering-oven": True}
    assert running_ovens.marked() == []
    latched = latch.read("tempering-oven")
    assert latched is not None
    assert latched.kind == "controller_lost"
    assert why in latched.reason


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_a_stop_sent_to_the_supervisor_means_off(watch: Watch, number: int, board: RelayBoard) -> None:
    supervisor = watch("obeys")
    assert board.wait_hot(True, 60)
    supervisor.send_signal(number)
    assert board.wait_hot(False, PROMISED_S)
    supervisor.communicate(timeout=90)
    assert supervisor.returncode == 0


def test_a_controller_that_goes_on_beating_after_a_stop_is_killed(
    watch: Watch, board: RelayBoard, tmp_path: Path
) -> None:
    supervisor = watch("deaf")
    assert board.wait_hot(True, 60)
    supervisor.terminate()
    supervisor.communicate(timeout=90)
    assert not board.hot
    assert "did not stop" in str(last_words(tmp_path)["why"])


def test_a_controller_without_supervisor_goes_off_by_itself(
    watch: Watch, board: RelayBoard, tmp_path: Path
) -> None:
    supervisor = watch("obeys")
    assert board.wait_hot(True, 60)
    supervisor.kill()
    assert board.wait_hot(False, PROMISED_S)
    supervisor.communicate(timeout=90)


def test_an_off_ends_a_controller_without_supervisor_that_hears_nothing(
    watch: Watch, board: RelayBoard, tmp_path: Path
) -> None:
    """Told to stop, not stopped itself, and not gone: it kept its port, and `off` gave up beside it."""
    supervisor = watch("deaf and alone")
    assert board.wait_hot(True, 60)
    supervisor.kill()
    command = [sys.executable, "-m", "kilnctl.cli.main", "off"]
    said = subprocess.run(command, capture_output=True, text=True, timeout=90, check=False)
    assert said.returncode == 0, said.stderr
    assert "read back" in said.stdout
    assert not board.wait_hot(True, 1.0)
    supervisor.communicate(timeout=90)


def test_after_both_were_killed_the_next_start_begins_with_off(
    watch: Watch, board: RelayBoard, tmp_path: Path
) -> None:
    supervisor = watch("obeys")
    assert board.wait_hot(True, 60)
    os.kill(int((tmp_path / "pid").read_text()), signal.SIGSTOP)
    supervisor.kill()
    os.kill(int((tmp_path / "pid").read_text()), signal.SIGKILL)
    supervisor.communicate(timeout=90)
    assert board.hot  # the coil remembers; nothing but a dead-man or the next start helps
    watch("cold")
    end_s = time.monotonic() + 60
    while not (tmp_path / "cold").exists() and time.monotonic() < end_s:
        time.sleep(0.02)
    assert (tmp_path / "cold").exists()
    assert not board.hot  # off came before the new controller did


def test_a_second_supervisor_is_refused_and_names_the_first(watch: Watch, board: RelayBoard) -> None:
    first = watch("obeys")
    assert board.wait_hot(True, 60)
    second = watch("obeys")
    _, said = second.communicate(timeout=90)
    assert second.returncode == 1
    assert f"process {first.pid}" in said
    assert board.hot
    first.terminate()
    first.communicate(timeout=90)


def test_a_silent_board_is_reported_as_not_off(
    watch: Watch, board: RelayBoard, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    supervisor = watch("dies")
    assert board.wait_hot(True, 60)
    board._leave.set()  # the board goes silent with its coil on
    end_s = time.monotonic() + 60
    while not (tmp_path / "last-words.json").exists() and time.monotonic() < end_s:
        time.sleep(0.05)
    supervisor.kill()
    supervisor.communicate(timeout=90)
    assert last_words(tmp_path)["off"] == {"tempering-oven": False}
    assert [oven.name for oven in running_ovens.marked()] == ["tempering-oven"]
