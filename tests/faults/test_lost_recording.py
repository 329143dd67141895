"""A recording whose board is lost, over real bytes: what is said to the end, and that it holds no oven up.

The boards are plain scripts: nothing of `simulator/` is in them.
"""

import os
import signal
import subprocess
from collections.abc import Iterator
from pathlib import Path

import leftovers
import pytest
from faults.live_heat import KILNCTL, until
from faults.planted.bench import OVEN, Bench

pytestmark = [pytest.mark.real_bytes, pytest.mark.slow]
ALARMS = ("CUT THE POWER", "during a heat", "is it switched on?", "tripped")


class TwoBenches:
    """A home with two ovens, each on a board of its own."""

    def __init__(self, folder: Path) -> None:
        self.home, self.benches = folder, {name: Bench() for name in ("left", "right")}
        (folder / "ovens").mkdir()
        for name, bench in self.benches.items():
            text = OVEN.replace("PATH", bench.path).replace("bench-oven", name)
            (folder / "ovens" / f"{name}.toml").write_text(text, encoding="utf-8")
        self.env = {"PATH": "/usr/bin:/bin", "HOME": str(folder), "KILNCTL_HOME": str(folder)}

    def begin(self, *words: str) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [KILNCTL, *words], env=self.env, text=True, stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, start_new_session=True,
        )  # fmt: skip

    def say(self, *words: str) -> tuple[int, str]:
        with self.begin(*words) as asked:
            assert asked.stdout is not None
            said = asked.stdout.read()
        return asked.returncode, said

    def records(self, name: str) -> subprocess.Popen[str]:
        """Begin to record an oven, and wait until it does."""
        begun = self.begin("run", "--record-only", "--oven", name)
        shown = f"{name}: cold"
        assert until(lambda: shown in self.say("status")[1] or begun.poll() is not None, 60.0)
        return begun

    def controller(self) -> int:
        """Return the process of the controller: the only child of the supervisor."""
        supervisor = int((self.home / "supervisor.lock").read_text(encoding="utf-8").strip())
        children = Path(f"/proc/{supervisor}/task/{supervisor}/children").read_text(encoding="utf-8")
        return int(children.split()[0])


@pytest.fixture
def two(tmp_path: Path) -> Iterator[TwoBenches]:
    made = TwoBenches(tmp_path)
    yield made
    leftovers.end_home(tmp_path)
    for bench in made.benches.values():
        bench.close()


def lost(two: TwoBenches) -> subprocess.Popen[str]:
    """Record the left oven, pull its cable, and wait until that is told."""
    watch = two.records("left")
    two.benches["left"].cable = False
    assert until(lambda: "left: silent" in two.say("status")[1], 30.0)
    return watch


def test_a_recording_whose_board_is_lost_ends_in_no_alarm(two: TwoBenches) -> None:
    watch = lost(two)
    status = two.say("status")[1]
    code, off = two.say("off", "--oven", "left")
    said = f"{status}{off}{watch.communicate(timeout=60)[0]}"
    assert not [alarm for alarm in ALARMS if alarm in said], said
    assert "before, it answered" in status
    assert code == 1  # nobody has read it back
    assert "nothing here was heating it" in off
    assert "nothing was heated" in said
    assert two.say("status")[1].strip().splitlines()[0] in ("nothing is running", "left: silent, no reading")


def test_a_lost_recording_that_is_killed_keeps_no_other_oven_from_a_start(two: TwoBenches) -> None:
    watch = lost(two)
    os.kill(two.controller(), signal.SIGKILL)
    said = watch.communicate(timeout=60)[0]
    assert not [alarm for alarm in ALARMS if alarm in said], said
    assert "nothing was heated" in said
    right = two.records("right")
    assert right.poll() is None
    assert "left" not in two.say("status")[1]
    two.say("off")
    right.communicate(timeout=60)
