"""Off while a set-up step has the port of an oven, heating or not: judged by the board's own log.

The board is the one of the histories: it shares no code with kilnctl.
"""

import contextlib
import os
import select
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from histories.place import Place, Said, until

from kilnctl.commissioning.drills import drills
from kilnctl.commissioning.drills.drill_job import KILLED

pytestmark = pytest.mark.real_bytes
COMES_S = 60.0


@pytest.fixture
def place() -> Iterator[Place]:
    made = Place(5)
    yield made
    made.close()


def asked(said: Said, question: str, answer: str = "y") -> None:
    """Say yes to everything until a question comes, and leave that one open."""
    end_s, seen = time.monotonic() + COMES_S, 0
    while time.monotonic() < end_s:
        if select.select([said.typed], [], [], 0.3)[0]:
            said.told += os.read(said.typed, 65536).decode(errors="replace").replace("\r\n", "\n")
            continue
        if question in said.told[seen:]:
            return
        if said.told[seen:].rstrip().endswith((":", "?", "]")):
            seen = len(said.told)
            os.write(said.typed, answer.encode())
    raise AssertionError(said.told[-1500:])


def is_off_at_once(place: Place, oven: str) -> None:
    """A hand at the board has switched heater and contactor on: off finds and cuts them, and says so."""
    for coil in (1, 0):
        place.board(oven, "hand", coil=coil, on=True)
    off = place.say("one", "off", "--oven", oven)
    assert (off.code, place.closed(oven)) == (0, False), off.err
    assert off.ended_s is not None
    assert not place.came_on(oven, off.ended_s)


def test_off_while_a_question_is_open_and_the_port_is_held(place: Place) -> None:
    walk = place.start(
        "one", "commission", str(place.oven_file("one", "A")), "--step", "bus check", terminal=True
    )
    asked(walk, "Switch the board's supply off")
    is_off_at_once(place, "A")
    assert walk.ended_s is None


PROVE = """
import sys
from pathlib import Path
from kilnctl.cli.terminal.presence_prompt import prove
from kilnctl.clock import RealClock
from kilnctl.config.oven import load_oven
prove(load_oven(Path(sys.argv[1])), RealClock())
"""


def test_off_while_somebody_counts_the_lamp() -> None:
    made = Place(1, simulated=(), drops_s=3)
    try:
        words = [sys.executable, "-u", "-c", PROVE, str(made.oven_file("one", "A"))]
        pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE}
        counts = subprocess.Popen(words, env=made.env("one"), **pipes)  # type: ignore[call-overload]
        said, looks = b"", 0
        while b"numbers after one long call" not in said:
            said += os.read(counts.stdout.fileno(), 4096)
            if b"Press Enter" in said and not looks:
                looks = counts.stdin.write(b"\n")
                counts.stdin.flush()
        is_off_at_once(made, "A")
        assert counts.poll() is None
        counts.kill()
        counts.communicate()
    finally:
        made.close()


DRILL = """
import signal
import sys
from pathlib import Path
from kilnctl.commissioning.drills.drill_job import DrillJob, drill_apart
from kilnctl.config import home
from kilnctl.logbook.writer import Logbook
from kilnctl.marks import off_stamp
signal.signal(signal.SIGINT, signal.default_int_handler)
Logbook(home.logbook_path()).close()
text = Path(sys.argv[2]).read_text()
job = DrillJob(sys.argv[1], "bus check", text, dict(off_stamp.stamps_now(home.home())), 5.0)
print(drill_apart(job, "A", print), flush=True)
"""


def begun(place: Place, drill: str) -> subprocess.Popen[str]:
    """Start one drill as the walk does, and return when it heats."""
    words = [sys.executable, "-c", DRILL, drill, str(place.oven_file("one", "A"))]
    walk = subprocess.Popen(words, env=place.env("one"), stdout=subprocess.PIPE, text=True)
    assert until(lambda: place.hot("A") or walk.poll() is not None, COMES_S)
    assert walk.poll() is None, walk.communicate()[0]
    return walk


def ended(place: Place, walk: "subprocess.Popen[str]") -> str:
    """Return what the walk said; nobody is left of it, and the heat is off."""
    said = walk.communicate(timeout=30)[0]
    assert until(lambda: not place.closed("A"), 12.0)
    return said


def test_who_stops_a_pulse_is_told_that_its_heat_is_off(place: Place) -> None:
    """Ctrl-C said "stopped" alone; the heat was off and read back, and nobody was told so."""
    walk = begun(place, "pulse")
    walk.send_signal(signal.SIGINT)
    said = ended(place, walk)
    assert "the heat is off, read back" in said
    assert not place.closed("A")


def test_off_kills_a_drill_that_is_stopped_with_its_supervisor(place: Place) -> None:
    """Off was sent beside the drill, after seconds, and could not be read back as long as it stood."""
    walk = begun(place, "pulse")
    held = [pid for pid in place.everybody("one") if pid != walk.pid]
    for pid in held:
        os.kill(pid, signal.SIGSTOP)
    off = place.say("one", "off", "--oven", "A")
    for pid in held:
        with contextlib.suppress(ProcessLookupError):
            os.kill(pid, signal.SIGCONT)
    assert (off.code, place.closed("A")) == (0, False), off.err
    assert off.ended_s is not None
    ended(place, walk)
    assert not place.came_on("A", off.ended_s)


@pytest.mark.on_demand
@pytest.mark.parametrize("drill", [*drills.HEAT, KILLED])
def test_every_drill_that_heats_answers_off_at_once(place: Place, drill: str) -> None:
    walk = begun(place, drill)
    off = place.say("one", "off", "--oven", "A")
    assert (off.code, place.closed("A")) == (0, False), off.err
    assert off.ended_s is not None
    assert off.ended_s - off.began_s < 5.0
    assert "passed=True" not in ended(place, walk)
    assert not place.came_on("A", off.ended_s)


@pytest.mark.on_demand
@pytest.mark.parametrize("who", ["walk", "drill", "supervisor"])
@pytest.mark.parametrize("drill", [*drills.HEAT, KILLED])
def test_every_drill_that_heats_ends_with_whoever_is_killed(place: Place, drill: str, who: str) -> None:
    walk = begun(place, drill)
    named = {"drill": "drill_process", "supervisor": "processes.supervisor"}
    found = [pid for pid in place.everybody("one") if named.get(who, "-") in said_by(pid)]
    os.kill(walk.pid if who == "walk" else found[0], signal.SIGKILL)
    at_s = time.monotonic()
    assert until(lambda: not place.hot("A"), 12.0)
    off_s = time.monotonic() - at_s
    ended(place, walk)
    assert until(lambda: not place.everybody("one"), 10.0)
    assert off_s < 6.0
    assert not place.came_on("A", at_s + 6.0)


def said_by(pid: int) -> str:
    with contextlib.suppress(OSError):
        return Path(f"/proc/{pid}/cmdline").read_bytes().decode(errors="replace")
    return ""
