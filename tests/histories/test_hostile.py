"""Impostors, links in the home, open folders, a wall clock that jumps: whole processes, judged by the board.

python -m pytest tests/histories/test_hostile.py -m "on_demand or not on_demand"
"""

import contextlib
import hashlib
import os
import shutil
import signal
import stat
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from histories.forking import shared
from histories.place import Place, Said, until

pytestmark = pytest.mark.real_bytes
COMES_S = 40.0

# --- somebody else on the abstract names (unix(7): they belong to nobody and need no permission)

IMPOSTOR = """
import socket, sys
listener = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
listener.bind(chr(0) + sys.argv[1])
listener.listen(64)
print("listening", flush=True)
at = b'[["KEY", "1-coil-0"], ["KEY", "1-coil-1"]]'
reads = b'{"ovens": {"A": {"reads_off": 3, "at": ' + at + b', "isolator": ""}}}'
says = {"lie": reads.replace(b"KEY", sys.argv[3].encode()) + b"\\n", "huge": b"x" * 1000000, "nothing": None,
        "noise": b"\\xff\\x00[[[{\\n", "wrong": b'{"ovens": {"A": {"reads_off": true}}}\\n'}[sys.argv[2]]
kept = []
while True:
    caller, _ = listener.accept()
    kept.append(caller)
    if says is not None:
        try:
            caller.recv(1000)
            caller.sendall(says)
        except OSError:
            pass
        kept.pop().close()
"""
SAYS = ("lie", "huge", "nothing", "noise", "wrong")


@pytest.fixture(scope="module")
def calm() -> Iterator[Place]:
    """A place where nothing is heated: a hand at the board switches on, `off` must switch off."""
    made = Place(5, nursery=shared())
    yield made
    made.close()


@pytest.fixture
def place() -> Iterator[Place]:
    made = Place(5)
    yield made
    made.close()


def device_key(place: Place) -> str:
    """Return the device behind oven A's port as the kernel numbers it."""
    number = os.stat(place.folder / "port-A").st_rdev
    return f"device-{os.major(number)}-{os.minor(number)}"


def home_name(place: Place) -> str:
    real = os.path.realpath(place.home("one"))
    return "kilnctl-home-" + hashlib.sha256(real.encode()).hexdigest()[:24]


@contextlib.contextmanager
def impostor(name: str, says: str, key: str) -> Iterator[None]:
    words = [sys.executable, "-c", IMPOSTOR, name, says, key]
    process = subprocess.Popen(words, stdout=subprocess.PIPE, text=True)
    try:
        assert process.stdout is not None
        assert process.stdout.readline()
        yield
    finally:
        process.kill()
        process.communicate()


def switched_on(place: Place) -> None:
    for coil in (1, 0):
        place.board("A", "hand", coil=coil, on=True)
    assert place.closed("A")


@pytest.mark.parametrize("says", SAYS)
def test_an_impostor_on_the_homes_name_is_not_believed(calm: Place, says: str) -> None:
    switched_on(calm)
    with impostor(home_name(calm), says, device_key(calm)):
        said = calm.say("one", "off", "--oven", "A")
    assert not calm.closed("A")
    assert said.code == 0, said.err
    assert "Traceback" not in said.err


@pytest.mark.parametrize("says", SAYS)
def test_an_impostor_on_the_devices_name_keeps_no_heat_on(calm: Place, says: str) -> None:
    """Who holds the name may switch on again at once: off is sent, and not called read back."""
    switched_on(calm)
    with impostor(f"kilnctl-{device_key(calm)}", says, device_key(calm)):
        said = calm.say("one", "off", "--oven", "A")
    assert not calm.closed("A")
    assert said.code == 1, said.out
    assert "red switch A" in said.err
    assert "Traceback" not in said.err


# --- links in the home


@pytest.mark.parametrize("to", ["a folder", "nowhere", "a file", "itself"])
def test_an_off_folder_that_is_a_link_keeps_no_heat_on(calm: Place, to: str) -> None:
    folder, there = calm.home("one") / "off", calm.folder / "elsewhere"
    calm.say("one", "off")
    shutil.rmtree(folder)
    shutil.rmtree(there, ignore_errors=True)
    there.unlink(missing_ok=True)
    if to == "a folder":
        there.mkdir()
    elif to == "a file":
        there.write_bytes(b"")
    folder.symlink_to(folder if to == "itself" else there)
    switched_on(calm)
    said = calm.say("one", "off")
    folder.unlink()
    assert not calm.closed("A")
    assert said.code in (0, 1)
    assert "Traceback" not in said.err


def hot(place: Place, *more: str) -> Said:
    said = place.heat("one", "A", "--json", *more)
    assert until(lambda: place.hot("A") or said.ended_s is not None, COMES_S), said.err
    return said


@pytest.mark.on_demand
@pytest.mark.parametrize("name", ["running", "latches", "hot", "off"])
def test_a_folder_that_is_a_link_loses_neither_latch_nor_off(place: Place, name: str) -> None:
    there = place.folder / "elsewhere"
    there.mkdir(mode=0o700)
    (place.home("one") / name).symlink_to(there)
    run = hot(place)
    if run.ended_s is not None:
        assert run.code == 2, run.err  # refused in one line is good too
        return
    place.board("A", "sensor", open=True)
    assert until(lambda: run.ended_s is not None, COMES_S)
    assert not place.closed("A")
    assert run.summary.get("outcome") == "tripped"
    place.board("A", "sensor", open=False)
    again = place.heat("one", "A", "--json")
    assert until(lambda: again.ended_s is not None, COMES_S)
    assert again.code == 3, again.out
    assert place.say("one", "off").code == 0


# --- W9: a home that others may write to; latches taken away in mid-heat


def test_w9_in_an_open_home_nothing_heats_and_off_works(calm: Place) -> None:
    home = calm.home("two")
    before = stat.S_IMODE(home.stat().st_mode)
    home.chmod(0o777)
    since_s = time.monotonic()
    said = calm.say("two", "run", "--soak", "60C", "--for", "1min", "--oven", "A", *calm.scale())
    switched_on(calm)
    off = calm.say("two", "off", "--oven", "A")
    home.chmod(before)
    assert said.code == 2, (said.out, said.err)
    assert "chmod" in said.err
    assert not calm.came_on("A", since_s)
    assert off.code == 0, off.err
    assert not calm.closed("A")


@pytest.mark.on_demand
def test_w9_latches_taken_away_in_mid_heat_are_a_latch(place: Place) -> None:
    run = hot(place)
    assert run.ended_s is None, run.err
    shutil.rmtree(place.home("one") / "latches")
    place.board("A", "sensor", open=True)
    assert until(lambda: run.ended_s is not None, COMES_S)
    assert not place.closed("A")
    place.board("A", "sensor", open=False)
    since_s = time.monotonic()
    again = place.heat("one", "A", "--json")
    assert until(lambda: again.ended_s is not None, COMES_S)
    assert again.code == 3, again.out
    assert not place.came_on("A", since_s)


# --- a wall clock that jumps: every Python of the place has one that can be set


@pytest.fixture
def step(place: Place, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the file that says by how many seconds the wall clock is wrong."""
    (place.folder / "shift").mkdir()
    shutil.copy(Path(__file__).with_name("wall_clock.py"), place.folder / "shift" / "sitecustomize.py")
    place.wall_step.write_text("0")
    path = [str(place.folder / "shift"), *filter(None, [os.environ.get("PYTHONPATH")])]
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join(path))
    return place.wall_step


DAY_S = 86_400


@pytest.mark.on_demand
@pytest.mark.parametrize("by_s", [DAY_S, -DAY_S, 20 * 365 * DAY_S, -20 * 365 * DAY_S])
def test_a_wall_clock_that_jumps_in_a_heat_touches_nothing_but_labels(
    place: Place, step: Path, by_s: int
) -> None:
    run = hot(place)
    assert run.ended_s is None, run.err
    step.write_text(str(by_s))
    jumped_s = time.monotonic()
    time.sleep(3.0)
    assert run.ended_s is None, run.out
    assert until(lambda: bool(place.came_on("A", jumped_s)) or place.hot("A"), 10.0)
    off = place.say("one", "off")
    assert off.code == 0, off.err
    assert not place.closed("A")
    assert until(lambda: run.ended_s is not None, COMES_S)
    assert run.summary.get("outcome") == "stopped", run.out
    status = place.say("one", "status")
    assert "Traceback" not in off.err + run.err + status.err
    time.sleep(1.0)
    assert not place.closed("A")


@pytest.mark.on_demand
@pytest.mark.parametrize("by_s", [-DAY_S, 20 * 365 * DAY_S])
def test_a_wall_clock_that_jumps_before_a_resume_changes_nothing(place: Place, step: Path, by_s: int) -> None:
    """Within one start of the machine its own clock tells how long it was dark: a ramp goes on as ever."""
    run = hot(place)
    assert run.ended_s is None, run.err
    place.send("one", "supervisor", signal.SIGSTOP)
    place.send("one", "controller", signal.SIGKILL)
    place.send("one", "supervisor", signal.SIGKILL)
    assert until(lambda: run.ended_s is not None, COMES_S)
    assert until(lambda: not place.closed("A"), 10.0)
    step.write_text(str(by_s))
    assert place.say("one", "off").code == 0
    again = place.start("one", "run", "--from", "1", "--json")
    assert until(lambda: place.hot("A") or again.ended_s is not None, COMES_S)
    assert again.ended_s is None, again.err
    assert place.say("one", "off").code == 0
    assert not place.closed("A")
    assert until(lambda: again.ended_s is not None, COMES_S)
    assert again.summary.get("outcome") == "stopped", again.out
    assert "Traceback" not in run.err + again.err
