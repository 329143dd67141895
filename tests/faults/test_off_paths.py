"""Off against everything that once got past it: crowds, lost sockets, other homes, starts, memory, names.

Judged on the simulator's truth alone: after an `off` that ended with 0 no relay closes until a later start.
"""

import contextlib
import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from faults.live_heat import KILNCTL, LiveHeat, alive, live_heat, until

pytestmark = pytest.mark.real_bytes
WATCH_S = 4.0  # real seconds; several switching windows of the heat at this speed


@pytest.fixture
def live() -> Iterator[LiveHeat]:
    with live_heat() as heat:
        yield heat


@pytest.fixture
def two(live: LiveHeat) -> Iterator[tuple[LiveHeat, LiveHeat]]:
    """Two ovens in one home, each on a board and a line of its own."""
    other = LiveHeat(live.home, live.speed, name="other")
    other.write_oven()
    other.plug_in()
    yield live, other
    for process in other.started:
        process.kill()
        process.communicate()
    other.unplug()


def stays_off(live: LiveHeat, real_s: float = WATCH_S) -> bool:
    """True when no heat flows in the next seconds."""
    end_s = time.monotonic() + real_s
    while time.monotonic() < end_s:
        if live.hot():
            return False
        time.sleep(0.02)
    return True


def crc16(frame: bytes) -> bytes:
    """Modbus over serial line V1.02, 6.2.2."""
    crc = 0xFFFF
    for byte in frame:
        crc ^= byte
        for _ in range(8):
            crc = (crc >> 1) ^ 0xA001 if crc & 1 else crc >> 1
    return crc.to_bytes(2, "little")


def stray_on(live: LiveHeat) -> None:
    """Switch the heat on from beside, as a second program or a hand at the board would: contactor, relay."""
    fd = os.open(live.link, os.O_RDWR | os.O_NOCTTY)
    try:
        for frame in (b"\x01\x06\x00\x00\x00\x0a", b"\x01\x05\x00\x01\xff\x00", b"\x01\x05\x00\x00\xff\x00"):
            os.write(fd, frame + crc16(frame))
            time.sleep(0.1)
            os.read(fd, 100)
    finally:
        os.close(fd)
    assert live.hot()


def under(home: Path, *words: str) -> subprocess.CompletedProcess[str]:
    env = {**os.environ, "KILNCTL_HOME": str(home)}
    return subprocess.run([KILNCTL, *words], env=env, capture_output=True, text=True, timeout=60, check=False)


@contextlib.contextmanager
def crowd(live: LiveHeat, number: int) -> Iterator[None]:
    """Attach screens that never read."""
    screens = []
    for _ in range(number):
        screen = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        screen.settimeout(2.0)
        with contextlib.suppress(OSError):
            screen.connect(str(live.home / "controller.socket"))
        screens.append(screen)
    yield
    for screen in screens:
        screen.close()


def test_d1_off_behind_a_crowd_of_screens(live: LiveHeat) -> None:
    view = live.heat()
    with crowd(live, 200):
        said = live.say("off")
        assert said.returncode == 0, said.stderr
        assert stays_off(live)
    view.communicate(timeout=60)
    assert view.returncode == 5


def test_d1_off_with_the_socket_file_gone(live: LiveHeat) -> None:
    live.heat()
    (live.home / "controller.socket").unlink()
    said = live.say("off")
    assert said.returncode == 0, said.stderr
    assert stays_off(live)


def test_d1_off_with_socket_and_mark_gone_and_the_oven_file_elsewhere(live: LiveHeat, tmp_path: Path) -> None:
    elsewhere = tmp_path / "small.toml"
    shutil.move(live.oven, elsewhere)
    job = ("run", "--soak", "240C", "--for", "4h", "--oven", str(elsewhere), "--time-scale", "10")
    live.start(*job)
    assert until(live.hot, 60.0)
    (live.home / "controller.socket").unlink()
    (live.home / "running" / "small.toml").unlink()
    said = live.say("off")
    assert said.returncode == 0, said.stderr
    assert stays_off(live)


def test_d1_off_under_another_home(live: LiveHeat, tmp_path: Path) -> None:
    live.heat()
    (tmp_path / "ovens").mkdir()
    text = live.oven.read_text().replace('name = "small"', 'name = "copied"')
    (tmp_path / "ovens" / "copied.toml").write_text(text)
    said = under(tmp_path, "off")
    assert said.returncode == 0, said.stderr
    assert stays_off(live)


def test_d1_a_second_home_cannot_drive_the_same_oven(live: LiveHeat, tmp_path: Path) -> None:
    view = live.heat()
    (tmp_path / "ovens").mkdir()
    shutil.copy(live.oven, tmp_path / "ovens")
    job = ("run", "--soak", "60C", "--for", "1min", "--oven", "small", "--time-scale", "10")
    said = under(tmp_path, *job)
    assert said.returncode == 3
    assert view.poll() is None
    assert until(live.hot, 20.0)


@pytest.mark.parametrize("after_s", [0.3, 0.8, 1.5, 2.5, 4.0])
def test_d2_a_run_that_is_loading_loses_against_off(live: LiveHeat, after_s: float) -> None:
    job = ("run", "--soak", "240C", "--for", "4h", "--oven", "small", "--time-scale", "10")
    view = live.start(*job)
    time.sleep(after_s)
    said = live.say("off")
    assert said.returncode == 0, said.stderr
    assert stays_off(live, 12.0)
    view.communicate(timeout=60)
    assert view.returncode in (3, 5)
    live.start(*job)  # asked for later: allowed
    assert until(live.hot, 60.0)


def begin(heat: LiveHeat) -> None:
    job = ("run", "--soak", "240C", "--for", "4h", "--oven", heat.name, "--time-scale", "10", "--json")
    heat.start(*job)
    assert until(heat.hot, 60.0)


def test_d4_off_never_answers_from_memory(two: tuple[LiveHeat, LiveHeat]) -> None:
    """B's heat has ended and its port was given back; then B is on by other means."""
    a, b = two
    begin(a)
    short = ("run", "--soak", "25C", "--for", "1min", "--oven", "other", "--time-scale", "10", "--json")
    view = b.start(*short)
    view.communicate(timeout=90)
    assert until(lambda: "other" not in json.loads(a.say("status", "--json").stdout)["ovens"], 60.0)
    stray_on(b)
    said = a.say("off", "--oven", "other")
    assert not b.hot(), said
    assert said.returncode == 0, said.stderr
    assert until(a.hot, 20.0)  # and the other heat was not touched
    stray_on(b)
    said = a.say("off")
    assert said.returncode == 0, said.stderr
    assert stays_off(a)
    assert stays_off(b, 0.5)


def test_d5_off_of_one_oven_acts_on_no_other(two: tuple[LiveHeat, LiveHeat]) -> None:
    """B was never run here, but is on."""
    a, b = two
    begin(a)
    stray_on(b)
    said = a.say("off", "--oven", "other")
    assert said.returncode == 0, said.stderr
    assert "other" in said.stdout
    assert "small" not in said.stdout
    assert not b.hot()
    assert until(a.hot, 20.0)


def test_d5_a_mark_of_one_oven_does_not_hide_another(two: tuple[LiveHeat, LiveHeat]) -> None:
    a, b = two
    (a.home / "running").mkdir()
    shutil.copy(a.oven, a.home / "running")
    stray_on(b)
    said = a.say("off", "--oven", "other")
    assert said.returncode == 0, said.stderr
    assert not b.hot()
    stray_on(b)
    assert a.say("off").returncode == 0
    assert not b.hot()


def test_d5_a_name_that_nobody_knows_switches_nothing_and_says_so(live: LiveHeat) -> None:
    live.heat()
    said = live.say("off", "--oven", "nobody")
    assert said.returncode == 2
    assert "small" in said.stderr
    assert "kilnctl off" in said.stderr
    assert until(live.hot, 20.0)


IMPOSTOR = """
import socket, sys, os
listener = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
listener.bind(sys.argv[1] if sys.argv[1][0] != "@" else "\\0" + sys.argv[1][1:])
listener.listen(8)
print("listening", flush=True)
words = {"nonsense": b"\\xff\\x00 nonsense\\n", "huge": b"x" * 50_000_000 + b"\\n", "half": b'{"ovens": {"sm',
         "lie": b'{"ovens": {"small": {"reads_off": 3}}, "answer": {"accepted": true, "why": "heat is off",'
                b' "data": {"verified": {"small": true}}}, "id": 1}\\n', "nothing": b"", "list": b"[1]\\n",
         "deep": b"[" * 100000 + b"\\n"}[sys.argv[2]]
while True:
    caller, _ = listener.accept()
    try:
        caller.settimeout(5)
        caller.sendall(words)
        caller.recv(1000)
        caller.sendall(words)
    except OSError:
        pass
    if sys.argv[2] != "nothing":
        caller.close()
    else:
        globals().setdefault("kept", []).append(caller)
"""


@contextlib.contextmanager
def impostor(where: str, says: str) -> Iterator[None]:
    """Somebody who listens where the controller should, and answers in his own way."""
    words = [sys.executable, "-c", IMPOSTOR, where, says]
    process = subprocess.Popen(words, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    assert process.stdout.readline()
    try:
        yield
    finally:
        process.kill()
        process.communicate()


@pytest.mark.parametrize("says", ["nonsense", "huge", "half", "lie", "nothing", "list", "deep"])
def test_w8_an_impostor_on_the_socket_is_not_believed(live: LiveHeat, says: str) -> None:
    stray_on(live)
    with impostor(str(live.home / "controller.socket"), says):
        said = live.say("off")
    assert not live.hot()
    assert said.returncode == 0, said.stderr
    assert "Traceback" not in said.stderr


def test_off_of_a_port_that_somebody_else_drives_is_never_called_read_back(live: LiveHeat) -> None:
    """The controller of another user, or any program: it holds the port and may switch on again at once."""
    import fcntl
    import termios

    fd = os.open(live.link, os.O_RDWR | os.O_NOCTTY)
    fcntl.ioctl(fd, termios.TIOCEXCL)
    fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
    said = live.say("off", "--oven", "small")
    os.close(fd)
    assert said.returncode == 1
    assert "red switch beside the workshop door" in said.stderr
    assert str(os.getpid()) in said.stderr
    assert "read back:" not in said.stdout


def test_off_under_a_hung_controller_ends_well(live: LiveHeat) -> None:
    live.heat()
    os.kill(live.controller(), signal.SIGSTOP)
    said = live.say("off")
    assert said.returncode == 0, said.stderr
    assert stays_off(live)
    assert until(lambda: not alive(live.supervisor()), 60.0)
