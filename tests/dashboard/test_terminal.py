"""The real thing end to end: simulator, controller, and `kilnctl watch` in a pseudo-terminal of its own."""

import fcntl
import json
import os
import pty
import re
import select
import signal
import struct
import subprocess
import termios
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from shop import SPEED, Shop

pytestmark = [pytest.mark.real_bytes, pytest.mark.slow]
ESCAPES = re.compile(r"\x1b\[[0-9;?<>=]*[a-zA-Z]|\x1b[()][0-9A-Z]|\x1b[=>]|\x1b\][^\x07]*\x07")
PROFILE = """
name = "marking-knife-trial"
oven = "tempering-oven"
[[segment]]
kind = "operator"
step = "load"
say = "Lay the marking knife on the rack"
at_most = "2 h"
[[segment]]
kind = "ramp"
to = "60 C"
rate = "100 C/h"
[[segment]]
kind = "soak"
at = "60 C"
time = "2 h"
"""


class Screen:
    """`kilnctl watch` in a terminal of 80 x 24; `wait` reads until a text has been drawn."""

    def __init__(self, shop: Shop, *words: str) -> None:
        self._master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        # A size that the environment hands down must not stand against the terminal's own.
        env = {**shop.env, "TERM": "xterm-256color", "COLUMNS": "80", "LINES": "24"}
        command = shop.command("watch", *words)
        self.process = subprocess.Popen(
            command, env=env, stdin=slave, stdout=slave, stderr=slave, start_new_session=True
        )
        os.close(slave)
        self.drawn = ""

    def resize(self, columns: int, rows: int) -> None:
        """Change the terminal's size, as somebody does who pulls at its window."""
        fcntl.ioctl(self._master, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        self.process.send_signal(signal.SIGWINCH)

    def press(self, keys: str) -> None:
        os.write(self._master, keys.encode())

    def wait(self, text: str, timeout_s: float = 90.0) -> None:
        give_up_s = time.monotonic() + timeout_s
        while text not in self.flat():
            assert time.monotonic() < give_up_s, f"{text!r} was never drawn: {self.flat()[-3000:]}"
            self._read(0.2)
        self.drawn = ""

    def flat(self) -> str:
        return " ".join(ESCAPES.sub(" ", self.drawn).split())

    def _read(self, wait_s: float) -> None:
        if select.select([self._master], [], [], wait_s)[0]:
            try:
                self.drawn += os.read(self._master, 65536).decode(errors="replace")
            except OSError:  # the other end is closed
                time.sleep(0.05)

    def leave(self) -> int:
        give_up_s = time.monotonic() + 60.0
        while self.process.poll() is None and time.monotonic() < give_up_s:
            self._read(0.1)
        return self.process.wait(10.0)

    def close(self) -> None:
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        os.close(self._master)


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    made = Shop(tmp_path)
    yield made
    made.close()


def test_without_a_controller_it_says_how_to_start_one(shop: Shop) -> None:
    screen = Screen(shop)
    try:
        screen.wait("no controller is running; start one with `kilnctl run JOB --oven O`")
        assert screen.leave() != 0
    finally:
        screen.close()


def started(shop: Shop, *words: str) -> subprocess.Popen[bytes]:
    """Start a heat in the background and return it when the controller listens."""
    command = shop.command("run", *words, "--oven", str(shop.oven), "--time-scale", str(SPEED))
    heat = subprocess.Popen(command, env=shop.env, stdout=subprocess.DEVNULL, stdin=subprocess.DEVNULL)
    give_up_s = time.monotonic() + 90.0
    while not (Path(shop.env["KILNCTL_HOME"]) / "controller.socket").exists():
        assert time.monotonic() < give_up_s, "the controller did not come up"
        time.sleep(0.05)
    return heat


def test_a_heat_is_answered_left_taken_up_again_tripped_acknowledged_and_reset(shop: Shop) -> None:
    """One heat: the step, detach, attach again, a lost wire, acknowledge, reset with a note."""
    job = shop.folder / "job.toml"
    job.write_text(PROFILE, encoding="utf-8")
    known = shop.folder / "home" / "ovens"
    known.mkdir(parents=True)
    shop.oven = shop.oven.rename(known / "tempering-oven.toml")
    shop.simulate()
    heat = started(shop, str(job), "--json")
    screens: list[Screen] = []
    try:
        screens.append(first := Screen(shop))
        first.wait("Lay the marking knife on the rack. SPACE when done.")
        first.press(" ")
        first.wait("heating")
        first.press("q")
        assert first.leave() == 0
        assert "heating" in shop.run("status").stdout

        screens.append(second := Screen(shop))
        second.wait("heating")
        assert shop.simulator is not None
        shop.simulator.send_signal(signal.SIGSTOP)
        second.wait("OFF IS NOT CONFIRMED. CUT THE POWER NOW")  # nothing answers, so nothing was read back
        second.press("a")
        second.wait("acknowledge: accepted")
        shop.simulator.send_signal(signal.SIGCONT)
        second.wait("latched since")  # the oven is cold, so the controller has nothing left to watch
        second.press("n")
        second.wait("Hardness result")
        second.press("60 skates, bare\r")
        second.wait("kept with run 1")  # nobody hosts the run any more, and the result still finds its record
        second.press("r")
        second.wait("Leave it latched")
        second.press("\x1b[C\r")
        second.wait("What was the cause, and what did you do?")
        second.press("cable pulled\r")
        second.wait("has been reset")
        second.press("q")
        assert second.leave() == 0
        assert heat.wait(90) == 4
        told = json.loads(shop.run("part", "run 1", "--json").stdout)
        assert [words for _, words in told["lines"]] == ["hardness by files: above 60 HRC"]
    finally:
        for screen in screens:
            screen.close()
        heat.kill()
        heat.wait()


def test_an_off_from_another_terminal_ends_what_looks_live(shop: Shop) -> None:
    """The controller hears it over its line or sees its stamp first: two words, one beginning."""
    shop.simulate()
    heat = started(shop, "--soak", "200C", "--for", "2h")
    screen = Screen(shop)
    try:
        screen.wait("heating")
        assert shop.run("off").returncode == 0
        screen.wait("ENDED: off ")
        screen.press("q")
        assert screen.leave() == 0
        assert heat.wait(90) == 5
    finally:
        screen.close()
        heat.kill()
        heat.wait()


def test_two_ovens_on_one_screen_a_controller_that_dies_and_the_off_key(shop: Shop, tmp_path: Path) -> None:
    """Both are seen at once, either in full; the terminal changes its size; then the controller is killed.

    Off still works then, at the ports; every tick goes before a picture.
    """
    (tmp_path / "b").mkdir()
    other = Shop(tmp_path / "b")
    other.env = shop.env
    text = other.oven.read_text(encoding="utf-8").replace('name = "tempering-oven"', 'name = "second-oven"')
    other.oven.write_text(text, encoding="utf-8")
    shop.simulate()
    other.simulate()
    heats = [started(each, "--soak", "200C", "--for", "2h") for each in (shop, other)]
    give_up_s = time.monotonic() + 90.0
    while not all(name in shop.run("status").stdout for name in ("tempering-oven", "second-oven")):
        assert time.monotonic() < give_up_s, "the heats did not begin"
    screen = Screen(shop, "--oven", "tempering-oven")
    try:
        screen.wait("second-oven ▲ heating")
        screen.press("o")
        screen.wait("tempering-oven ▲ heating")
        screen.resize(120, 35)
        screen.wait("why this step")  # only the larger layout says it
        (controller,) = children(int((shop.folder / "home" / "supervisor.lock").read_text()))
        give_up_s = time.monotonic() + 90.0
        while nice(screen.process.pid) < min(nice(controller) + 5, 19):
            assert time.monotonic() < give_up_s, "every tick should go before a picture"
            time.sleep(0.1)
        os.kill(controller, signal.SIGKILL)
        screen.wait("THE CONTROLLER HAS GONE")
        assert [heat.wait(90) for heat in heats] == [4, 4]
        screen.press("\x1b[20~")  # F9
        screen.wait("nothing was read back")  # the supervisor had read it back and let go of the ports
    finally:
        screen.close()
        for heat in heats:
            heat.kill()
            heat.wait()
        if other.simulator is not None:
            other.simulator.terminate()
            other.simulator.wait(60)


def nice(pid: int) -> int:
    """Return how far a process lets others go first."""
    return os.getpriority(os.PRIO_PROCESS, pid)


def children(parent: int) -> list[int]:
    """Return the processes that a process has started."""
    return [int(pid) for pid in Path(f"/proc/{parent}/task/{parent}/children").read_text().split()]
