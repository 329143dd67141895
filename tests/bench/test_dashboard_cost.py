"""What the live screen costs, as tables: time to the picture, processor, memory, and the tick.

Asked: first picture within 1 s of the command, the whole 10 h curve within 0.5 s of attaching, 8 % of
one core at 1 Hz, 80 MB; the tick no later with five screens attached, one of them stopped, than with none.
Printed, not asserted: a busy machine is no fault of the program. Run with
`pytest -m on_demand -s tests/bench/test_dashboard_cost.py`.
"""

import contextlib
import dataclasses
import fcntl
import os
import pty
import select
import shlex
import signal
import statistics
import struct
import subprocess
import sys
import termios
import threading
import time
from contextlib import closing
from pathlib import Path

import pytest
from dashboard.feed import heating, tempering
from heats import a_book, header, samples

from kilnctl.clock import RealClock
from kilnctl.dashboard import history_loader
from kilnctl.dashboard.history import History
from kilnctl.link.server import LinkServer
from kilnctl.link.snapshot import Answer, Command, Snapshot

pytestmark = [pytest.mark.on_demand, pytest.mark.real_bytes]
HOURS_10_S = 36000
WATCHED_S = float(os.environ.get("WATCHED_S", "30"))
TICKS, TICK_S, ROUNDS = 200, 0.05, int(os.environ.get("ROUNDS", "7"))


class Watching:
    """A `kilnctl watch` in a pseudo-terminal whose output is drained and searched."""

    def __init__(self, home: Path, size: tuple[int, int]) -> None:
        self._master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", size[1], size[0], 0, 0))
        env = {**os.environ, "KILNCTL_HOME": str(home), "TERM": "xterm-256color", "COLORTERM": "truecolor"}
        self.began_s, self.seen, self.drawn = time.monotonic(), {}, 0  # type: ignore[var-annotated]
        words = [sys.executable, "-m", "kilnctl.cli.main", "watch"]
        self.process = subprocess.Popen(
            words, env=env, stdin=slave, stdout=slave, stderr=slave, start_new_session=True
        )
        os.close(slave)
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._drain)
        self._thread.start()

    def _drain(self) -> None:
        # a line of half blocks across the chart; no big letter is as wide
        marks = {"picture": b"HOT EQUIPMENT", **{f"curve {c}": c.encode() * 20 for c in "█▀▄"}}
        while not self._stop.is_set():
            if not select.select([self._master], [], [], 0.1)[0]:
                continue
            try:
                data = os.read(self._master, 1 << 16)
            except OSError:  # the screen has ended
                return
            self.drawn += len(data)
            for name, mark in marks.items():
                if name not in self.seen and mark in data:
                    self.seen[name] = (time.monotonic() - self.began_s, self.cpu_s())

    def cpu_s(self) -> float:
        fields = Path(f"/proc/{self.process.pid}/stat").read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def memory_mb(self) -> str:
        lines = Path(f"/proc/{self.process.pid}/status").read_text().splitlines()
        kb = {line.split()[0]: int(line.split()[1]) for line in lines if line.startswith(("VmHWM", "VmRSS"))}
        return f"{kb['VmRSS:'] / 1000:.0f} MB, {kb['VmHWM:'] / 1000:.0f} MB at most"

    def close(self) -> None:
        self.process.send_signal(signal.SIGCONT)
        self.process.kill()
        self.process.wait()
        self._stop.set()
        self._thread.join()
        os.close(self._master)


@pytest.fixture
def home(tmp_path: Path) -> Path:
    with a_book(tmp_path) as book:
        run, made = book.start_run(header()), samples(HOURS_10_S)
        for start in range(0, HOURS_10_S, 60):  # as a heat is recorded: a block a minute
            book.append(run, made[start : start + 60], [])
    return tmp_path


def running(tick: int) -> Snapshot:
    at_s = HOURS_10_S + tick
    ahead = tuple((at_s + 60.0 * i, 210.0, 218.0, 226.0) for i in range(60))
    return dataclasses.replace(
        tempering(), run=1, sequence=tick, elapsed_s=float(at_s), process_c=217.0 + 0.1 * (tick % 7),
        interlocks=heating().interlocks * 2, prediction=ahead,
    )  # fmt: skip


def accept(command: Command) -> Answer:
    return Answer(True)


@pytest.mark.parametrize("size", [(80, 24), (120, 35), (200, 60)])
def test_what_one_screen_costs_at_1_hz_with_a_10_h_curve(home: Path, size: tuple[int, int]) -> None:
    with closing(LinkServer(home / "controller.socket", accept)) as server:
        server.publish(running(0))
        with closing(Watching(home, size)) as screen:
            for tick in range(1, 5):
                time.sleep(1.0)
                server.publish(running(tick))
            cpu_s, drawn, began_s = screen.cpu_s(), screen.drawn, time.monotonic()
            for tick in range(5, 5 + int(WATCHED_S)):
                time.sleep(1.0)
                server.publish(running(tick))
            took_s = time.monotonic() - began_s
            share = (screen.cpu_s() - cpu_s) / took_s
            seen = {
                name: f"{at_s:.2f} s ({cpu_s:.2f} s of a core)" for name, (at_s, cpu_s) in screen.seen.items()
            }
            print(
                f"\n{size[0]}x{size[1]}: {seen}, {100 * share:.1f} % of a core,"
                f" {screen.memory_mb()}, {(screen.drawn - drawn) / took_s / 1000:.1f} kB/s"
            )


def test_how_long_ten_hours_take_to_come_from_the_logbook(home: Path) -> None:
    began_s = time.monotonic()
    history = History(1)
    history.put_before(history_loader.load(home / "logbook.sqlite", 1))
    print(f"\n{len(history)} samples from the logbook in {time.monotonic() - began_s:.3f} s")


def lateness(server: LinkServer, clock: RealClock) -> tuple[list[float], list[float]]:
    """Tick and publish like a controller; return sorted microseconds late, and spent in publishing."""
    late, cost, start_s = [], [], clock.real_s()
    for tick in range(TICKS):
        clock.pause(max(0.0, start_s + tick * TICK_S - clock.real_s()))
        late.append(1e6 * (clock.real_s() - start_s - tick * TICK_S))
        shot = running(tick)
        before_s = clock.real_s()
        server.publish(shot)
        cost.append(1e6 * (clock.real_s() - before_s))
    return sorted(late), sorted(cost)


class Screens:
    """Real screens, each in a terminal of its own that another process drains."""

    def __init__(self, home: Path, count: int) -> None:
        words = shlex.join([sys.executable, "-m", "kilnctl.cli.main", "watch"])
        env = {**os.environ, "KILNCTL_HOME": str(home), "TERM": "xterm-256color"}
        self.all = [
            subprocess.Popen(
                ["script", "-qfc", f"exec {words}", "/dev/null"],
                env=env, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, start_new_session=True,
            )
            for _ in range(count)
        ]  # fmt: skip

    def watching(self, place: int) -> int:
        """Return the process that is the screen itself."""
        pid = self.all[place].pid
        return int(Path(f"/proc/{pid}/task/{pid}/children").read_text().split()[0])

    def stop_one(self) -> None:
        os.kill(self.watching(0), signal.SIGSTOP)

    def close(self) -> None:
        for place, process in enumerate(self.all):
            with contextlib.suppress(IndexError, ProcessLookupError):
                os.kill(self.watching(place), signal.SIGKILL)
            process.kill()
            process.communicate()  # closes the pipe that kept its terminal open


def test_what_five_screens_do_to_the_tick(home: Path) -> None:
    """Five real screens, one of them stopped in half of the rounds, against none; the rounds take turns."""
    clock, found = RealClock(), {name: [] for name in ("none", "five", "five, one stopped")}  # type: ignore[var-annotated]
    with closing(LinkServer(home / "controller.socket", accept, clock)) as server:
        server.publish(running(0))
        for _ in range(ROUNDS):
            found["none"].append(lateness(server, clock))
            with closing(Screens(home, 5)) as screens:
                attached(server, 5)
                found["five"].append(lateness(server, clock))
                screens.stop_one()
                found["five, one stopped"].append(lateness(server, clock))
            attached(server, 0)
    print(f"\n{ROUNDS} rounds of {TICKS} ticks, {1 / TICK_S:.0f} a second; load {os.getloadavg()[0]:.1f}")
    print("| screens | late: median | p99 | worst | publish: median | p99 |\n|---|---|---|---|---|---|")
    for name, rounds in found.items():
        numbers = [
            (late[TICKS // 2], late[-3], late[-1], cost[TICKS // 2], cost[-3]) for late, cost in rounds
        ]
        print(
            f"| {name} | "
            + " | ".join(f"{statistics.median(n):.0f} µs" for n in zip(*numbers, strict=True))
            + " |"
        )


def attached(server: LinkServer, count: int) -> None:
    """Wait until so many screens follow, and have had time for their first pictures."""
    give_up_s = time.monotonic() + 60.0
    while len(server._clients) != count:
        assert time.monotonic() < give_up_s, f"{len(server._clients)} screens instead of {count}"
        time.sleep(0.1)
    time.sleep(5.0 if count else 1.0)
