"""Off against impostors on the socket, a foreign holder of the port, a hung controller, a second home.

Judged on the simulator's truth alone: after an `off` that ended with 0 no relay closes until a later start.
What else once got past it stands by name in `tests/histories`, judged by a board that shares no code.
"""

import contextlib
import os
import shutil
import signal
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


@pytest.fixture(scope="module")
def calm() -> Iterator[LiveHeat]:
    """A place where nothing is heated: a hand at the board switches on, `off` must switch off."""
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


def test_d1_a_second_home_cannot_drive_the_same_oven(live: LiveHeat, tmp_path: Path) -> None:
    view = live.heat()
    (tmp_path / "ovens").mkdir()
    shutil.copy(live.oven, tmp_path / "ovens")
    job = ("run", "--soak", "60C", "--for", "1min", "--oven", "small", "--time-scale", "10")
    said = under(tmp_path, *job)
    assert said.returncode == 3
    assert view.poll() is None
    assert until(live.hot, 20.0)


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
        Path(where).unlink(missing_ok=True)


@pytest.mark.parametrize("says", ["nonsense", "huge", "half", "lie", "nothing", "list", "deep"])
def test_w8_an_impostor_on_the_socket_is_not_believed(calm: LiveHeat, says: str) -> None:
    stray_on(calm)
    with impostor(str(calm.home / "controller.socket"), says):
        said = calm.say("off")
    assert not calm.hot()
    assert said.returncode == 0, said.stderr
    assert "Traceback" not in said.stderr


def test_off_of_a_port_that_somebody_else_drives_is_never_called_read_back(calm: LiveHeat) -> None:
    """The controller of another user, or any program: it holds the port and may switch on again at once."""
    import fcntl
    import termios

    fd = os.open(calm.link, os.O_RDWR | os.O_NOCTTY)
    fcntl.ioctl(fd, termios.TIOCEXCL)
    fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
    said = calm.say("off", "--oven", "small")
    os.close(fd)
    assert said.returncode == 1
    assert "red switch beside the workshop door" in said.stderr
    # the simulator keeps the other end of this line open, so that it may be named instead
    assert calm.simulator is not None
    assert any(f"process {pid} " in said.stderr for pid in (os.getpid(), calm.simulator.pid)), said.stderr
    assert "read back:" not in said.stdout


@pytest.mark.parametrize("supervisor", [None, signal.SIGKILL, signal.SIGSTOP])
def test_off_under_a_stopped_controller_ends_well(live: LiveHeat, supervisor: signal.Signals | None) -> None:
    """Left alone it hears no signal but SIGKILL: otherwise only the dead-man would cut the heat."""
    live.begin()
    os.kill(live.controller(), signal.SIGSTOP)
    if supervisor is not None:
        os.kill(live.supervisor(), supervisor)
    said = live.say("off")
    assert said.returncode == 0, said.stderr
    assert stays_off(live)
    assert until(lambda: not alive(live.supervisor()), 60.0)
