"""The dangerous paths that were found by hand, each by its name, over real bytes.

The boards' relays are the judge. What is asked of each stands in its first line. Times are real seconds.
"""

import contextlib
import json
import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from histories.forking import shared
from histories.judge import BEGUN_CPU_S
from histories.place import OVENS, Place, Said, cpu_s, until

pytestmark = [pytest.mark.real_bytes, pytest.mark.slow, pytest.mark.begins_first]
WATCH_S = 2.5  # many ticks: a heat that goes on shows itself
LOADED_S = 40.0
TOLD_WITHIN_S = 600.0


@pytest.fixture
def place() -> Iterator[Place]:
    made = Place(speed=5, nursery=shared())
    yield made
    made.close()


@pytest.fixture
def loading_place() -> Iterator[Place]:
    """A place whose processes load what they need, as they do for a person."""
    made = Place(speed=5)
    yield made
    made.close()


@pytest.fixture
def live_place() -> Iterator[Place]:
    made = Place(speed=1, simulated=(), drops_s=3)
    yield made
    made.close()


def heat(place: Place, oven: str = "A", home: str = "one", file: Path | None = None) -> Said:
    """Start a run and return when heat flows."""
    said = place.heat(home, oven, "--json", file=file)
    assert until(lambda: place.hot(oven) or said.ended_s is not None, LOADED_S)
    assert said.ended_s is None, said.err
    time.sleep(0.3)
    return said


def off_holds(place: Place, off: Said, *ovens: str, came_s: float = WATCH_S) -> None:
    """An off either says that it could not, or nothing comes on again."""
    assert off.ended_s is not None
    if off.code == 0:
        assert not [oven for oven in ovens if place.closed(oven)], (off.out, "on when it returned")
    time.sleep(came_s)
    came = {oven: place.came_on(oven, off.ended_s) for oven in ovens}
    if off.code == 0:
        assert not any(came.values()), (off.out, came)
    else:
        assert re.search("cut (its|the) power", off.err + off.out, re.IGNORECASE), off.err


def powerful(off: Said) -> None:
    """Where nothing stands in the way an off must also succeed."""
    assert off.code == 0, off.err


def crowd(place: Place, home: str, many: int) -> None:
    for path in place.home(home).rglob("*"):
        if path.is_socket():
            for _ in range(many):
                screen = socket.socket(socket.AF_UNIX)
                screen.settimeout(0.5)
                place.hold(screen)
                with contextlib.suppress(OSError):  # its queue is full
                    screen.connect(str(path))


def sockets_gone(place: Place, home: str) -> None:
    for path in place.home(home).rglob("*"):
        if path.is_socket():
            path.unlink()


# --- D1: off beside a living controller


@pytest.mark.parametrize("many", [40, 200])
def test_d1_off_among_many_screens(place: Place, many: int) -> None:
    heat(place)
    crowd(place, "one", many)
    off = place.say("one", "off")
    powerful(off)
    off_holds(place, off, "A")


def test_d1_off_with_the_socket_file_gone(place: Place) -> None:
    heat(place)
    sockets_gone(place, "one")
    off = place.say("one", "off")
    powerful(off)
    off_holds(place, off, "A")


def test_d1_off_with_the_socket_gone_and_the_oven_file_elsewhere(place: Place) -> None:
    elsewhere = place.folder / "A.toml"
    elsewhere.write_text(place.oven_text("A"), encoding="utf-8")
    place.oven_file("one", "A").unlink()
    heat(place, file=elsewhere)
    sockets_gone(place, "one")
    for _ in range(2):
        off = place.say("one", "off")
        off_holds(place, off, "A")
    assert not place.closed("A"), "two offs, and the relay is on"


@pytest.mark.on_demand
def test_off_stamps_a_device_that_only_the_controller_knows(place: Place) -> None:
    """No file and no mark leads to the oven: its device is stamped all the same, against older starts."""
    elsewhere = place.folder / "A.toml"
    elsewhere.write_text(place.oven_text("A"), encoding="utf-8")
    for home in ("one", "two"):
        place.oven_file(home, "A").unlink()
    heat(place, file=elsewhere)
    (place.home("one") / "running" / "A.toml").unlink()
    number = os.stat(place.folder / "port-A").st_rdev
    stamp = Path(f"/dev/shm/kilnctl-off/device-{os.major(number)}-{os.minor(number)}")  # as PROTOCOL.md says
    before = [(path.name, path.stat().st_mtime_ns) for path in stamp.parent.glob(f"{stamp.name}*")]
    off = place.say("one", "off")
    powerful(off)
    off_holds(place, off, "A")
    after = [(path.name, path.stat().st_mtime_ns) for path in stamp.parent.glob(f"{stamp.name}*")]
    assert sorted(after) != sorted(before), off.err


def test_d1_off_under_another_home(place: Place) -> None:
    heat(place)
    off = place.say("two", "off")
    off_holds(place, off, "A")
    assert not place.came_on("A", off.ended_s or 0.0), (off.code, off.err)


def test_d1_off_under_another_home_with_the_cable_out(place: Place) -> None:
    """Its device has left the computer, its relay has not: the path tells who drives it (seed 51291)."""
    heat(place)
    place.board("A", "unplug")
    off = place.say("two", "off")
    assert off.code == 1, (off.code, off.out, off.err)
    assert re.search("cut (its|the) power", off.err, re.IGNORECASE), off.err
    assert "A:" in off.err, off.err


# --- D2: off against a run that is loading


@pytest.mark.parametrize("after_s", [0.1, 0.6, 1.5])
def test_d2_off_while_a_run_is_loading(loading_place: Place, after_s: float) -> None:
    place = loading_place
    run = place.heat("one", "A", "--json")
    until(lambda: cpu_s(run.process.pid) > BEGUN_CPU_S, 20.0)  # it has looked at the stamps
    time.sleep(after_s)
    off = place.say("one", "off")
    until(lambda: run.ended_s is not None or place.hot("A"), 12.0)
    off_holds(place, off, "A", came_s=1.0)


@pytest.mark.on_demand
def test_d2_off_while_a_start_waits_for_its_hour(place: Place) -> None:
    """It has begun, heats in an hour, and must not: an off ends the wait itself."""
    ready = time.strftime("%H:%M", time.localtime(time.time() + 7200))
    words = ("--soak", "60C", "--for", "5min", "--unattended", "--ready-at", ready, "--json")
    run = place.start("one", "run", *words, "--oven", str(place.oven_file("one", "A")))
    assert until(
        lambda: '"A' in place.say("one", "status", "--json").out or run.ended_s is not None, LOADED_S
    )
    assert run.ended_s is None, run.err
    off = place.say("one", "off")
    powerful(off)
    assert until(lambda: run.ended_s is not None, 15.0), place.say("one", "status").out
    off_holds(place, off, "A", came_s=5.0)


# --- D3: off against a set-up drill


def test_d3_off_ends_a_set_up_drill(place: Place) -> None:
    drill = place.drill("one", "A")
    assert until(lambda: place.hot("A") or drill.ended_s is not None, LOADED_S), drill.told
    assert drill.ended_s is None, drill.told
    off = place.say("one", "off")
    powerful(off)
    off_holds(place, off, "A", came_s=5.0)


@pytest.mark.on_demand
def test_two_offs_at_once_in_a_drill_and_one_in_the_step_after_it(place: Place) -> None:
    """The walk goes on to steps that hold the port without heating; they answer for it all the same."""
    drill = place.drill("one", "B")
    assert until(lambda: place.hot("B") or drill.ended_s is not None, LOADED_S), drill.told
    first = place.start("one", "off")
    time.sleep(0.25)
    second = place.say("one", "off")
    assert until(lambda: first.ended_s is not None, 20.0)
    assert not place.closed("B")
    assert (first.code, second.code) == (0, 0), (first.err, second.err, drill.told[-600:])
    time.sleep(3.0)
    later = place.say("one", "off")
    assert later.code == 0, (later.err, drill.told[-600:])
    assert not place.came_on("B", second.ended_s or 0.0)


# --- D4 and D5: off by name


def test_d4_off_is_not_answered_from_memory(place: Place) -> None:
    heat(place, "A")
    heat(place, "B")
    assert place.say("one", "off", "--oven", "B").code == 0
    time.sleep(1.0)
    for coil in (1, 0):
        place.board("B", "hand", coil=coil, on=True)
    off = place.say("one", "off", "--oven", "B")
    assert off.code != 0 or not place.closed("B"), off.out


def test_d5_off_by_name_reaches_that_oven_and_no_other(place: Place) -> None:
    run = heat(place, "A")
    for coil in (1, 0):
        place.board("B", "hand", coil=coil, on=True)
    off = place.say("one", "off", "--oven", "B")
    assert not place.closed("B"), off.out
    assert off.code == 0
    time.sleep(1.5)
    assert run.ended_s is None, "the heat of another oven was ended"
    assert place.came_on("A", off.ended_s or 0.0) or place.hot("A")


def test_d5_off_by_a_name_that_nobody_knows_switches_nothing(place: Place) -> None:
    run = heat(place, "A")
    off = place.say("one", "off", "--oven", "C")
    assert off.code == 2, off.out
    assert "A" in off.err
    assert "B" in off.err
    time.sleep(1.0)
    assert run.ended_s is None


# --- D6: a welded relay without a contact


@pytest.mark.on_demand
def test_d6_a_welded_relay_is_told_in_capitals(place: Place) -> None:
    file = place.oven_file("one", "A")
    lines = [
        line for line in file.read_text().splitlines() if not line.startswith(("heater_live", "contactor"))
    ]
    file.write_text("\n".join(lines).replace('limit = "260 C"', 'limit = "90 C"'))
    place.board("A", "hand", coil=1, on=True)
    words = ("run", "--soak", "80C", "--for", "3h", "--oven", str(file), *place.scale(), "--json")
    run = place.start("one", *words)
    assert until(lambda: place.hot("A") or run.ended_s is not None, LOADED_S), run.err
    place.board("A", "weld")
    assert until(lambda: run.ended_s is not None, 120.0), "no trip"
    tripped_s = time.monotonic()
    told = place.say("one", "status")
    # An oven that nobody has learned may coast for 300 s; what comes after that is no coast.
    while "CUT THE POWER" not in told.out and (time.monotonic() - tripped_s) * place.speed < TOLD_WITHIN_S:
        time.sleep(1.0)
        told = place.say("one", "status")
    after_s = (time.monotonic() - tripped_s) * place.speed
    assert "CUT THE POWER" in told.out, (after_s, place.board("A", "look"), told.out)
    assert "red switch A" in told.out
    print(f"told {after_s:.0f} s of the heat after the trip")


# --- D7: a trip on a full disk


def test_d7_a_trip_on_a_full_disk_stays_a_trip(place: Place) -> None:
    run = heat(place)
    place.fill("one")
    place.board("A", "sensor", open=True)
    assert until(lambda: run.ended_s is not None, 60.0)
    assert run.summary.get("outcome") == "tripped", (run.out, run.err)
    for kind in ("supervisor", "controller"):
        place.send("one", kind, signal.SIGSTOP)
    for kind in ("supervisor", "controller"):
        place.send("one", kind, signal.SIGKILL)
    place.free("one")
    place.board("A", "sensor", open=False)
    status = place.say("one", "status")
    assert "run --from" not in status.out + status.err, status.out
    since_s = time.monotonic()
    again = place.start("one", "run", "--from", "1", "--json")
    until(lambda: again.ended_s is not None or place.hot("A"), 25.0)
    assert again.code == 3, (again.out, again.err)
    assert not place.came_on("A", since_s)


# --- D8: permission


def test_d8_no_message_heats_a_live_oven(live_place: Place) -> None:
    place = live_place
    refused = place.say("one", "run", "--soak", "100C", "--for", "1h", "--oven", "A")
    assert refused.code == 3
    start_supervisor(place)
    path = next(p for p in place.home("one").rglob("*") if p.is_socket())
    for args in messages(place):
        ask(path, {"word": "run", "oven": "A", "args": args, "who": "a script"})
    time.sleep(6.0)
    assert not place.came_on("A", 0.0)


def start_supervisor(place: Place) -> None:
    """Start supervisor and controller as anybody with a shell may."""
    words = [sys.executable, "-P", "-m", supervisor_module()]
    place.hold_process(words, "one")
    assert until(lambda: any(p.is_socket() for p in place.home("one").rglob("*")), 30.0)
    time.sleep(0.5)


def supervisor_module() -> str:
    """Return where the supervisor lives, by looking at the files of the installed package."""
    found = subprocess.run(
        [sys.executable, "-P", "-c", "import kilnctl; print(kilnctl.__path__[0])"],
        capture_output=True,
        text=True,
        check=True,
    ).stdout.strip()
    path = next(Path(found).rglob("supervisor.py"))
    return ".".join(("kilnctl", *path.relative_to(found).with_suffix("").parts))


def messages(place: Place) -> Iterator[dict[str, object]]:
    """Jobs as a program of the same user may send them: bare, alone, in a simulated coat, self-confirmed."""
    profile = 'name = "x"\n\n[[segment]]\nkind = "ramp"\nto = "100 C"\n'
    bare: dict[str, object] = {"oven": place.oven_text("A"), "profile": profile, "time_scale": 1.0}
    yield bare
    yield {**bare, "unattended": True, "confirmed": ["the room"]}
    yield {**bare, "resumes": 1, "way": "alone"}
    sure = {"acknowledged": ["1", "2"], "presence": True, "challenge": "x" * 32, "seen": {}, "token": {}}
    yield {**bare, **sure}
    yield {**bare, "oven": place.oven_text("A", simulated=True)}
    yield {**bare, "record_only": True}


def ask(path: Path, command: dict[str, object]) -> bytes:
    """Send one command as a line of JSON; return what comes within a while."""
    with socket.socket(socket.AF_UNIX) as wire:
        wire.settimeout(6.0)
        wire.connect(str(path))
        wire.sendall(json.dumps({"command": command, "id": 1}).encode() + b"\n")
        came = b""
        with contextlib.suppress(TimeoutError):
            while b'"answer"' not in came and (more := wire.recv(65536)):
                came += more
        return came


def test_the_names_of_the_ovens_are_those_of_the_boards() -> None:
    assert list(OVENS) == ["A", "B"]
