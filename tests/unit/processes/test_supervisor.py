"""The supervisor's timing in virtual time, over a controller and wires that are played.

`tests/faults/test_process_watch.py` shows the same over real processes; here every bound is held from both
sides. The bounds are the project's own: off within five seconds of the last beat.
"""

import errno
import os
import shutil
import signal
import subprocess
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.config import home
from kilnctl.config.oven import Oven
from kilnctl.errors import RecordError, RunRefused
from kilnctl.marks import latch, off_stamp, running_ovens, supervisor_report
from kilnctl.processes import spawn, supervisor
from kilnctl.processes.heartbeat import OFF_NOT_READ
from kilnctl.processes.supervisor import Supervisor

STOPS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)
TEXT = (home.bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")


def mark(name: str, heats: bool = True) -> None:
    running_ovens.mark(name, TEXT.replace('name = "tempering-oven"', f'name = "{name}"'), heats)


def left_by_a_crash(name: str, monkeypatch: pytest.MonkeyPatch, heats: bool = True) -> None:
    """Mark in the name of a process that is dead."""
    with monkeypatch.context() as patch:
        patch.setattr(os, "getpid", lambda: 2**22 + 1)  # above the highest number that Linux gives
        mark(name, heats)


class Child:
    """A controller: beats until `beats_s`, ends at `ends_s` with `code`, or soon after a stop if it obeys."""

    def __init__(self, clock: VirtualClock, **how: Any) -> None:
        self._clock, self.pid = clock, os.getpid()
        self.first_s, self.beats_s = how.get("first_s", 0.5), how.get("beats_s", 1e9)
        self.pause_s = how.get("pause_s", (0.0, 0.0))
        self.ends_s, self.code = how.get("ends_s", 1e9), how.get("code", 0)
        self.obeys, self.stuck = how.get("obeys", True), how.get("stuck", False)
        self.returncode: int | None = None
        self.got: list[tuple[float, int]] = []

    @property
    def beats(self) -> bool:
        now_s = self._clock.real_s()
        paused = self.pause_s[0] < now_s < self.pause_s[1]
        return self.first_s <= now_s <= self.beats_s and not paused and self.poll() is None

    def poll(self) -> int | None:
        if self.returncode is None and self._clock.real_s() >= self.ends_s:
            self.returncode = self.code
        return self.returncode

    def send_signal(self, number: int) -> None:
        self.got.append((self._clock.real_s(), number))
        if self.obeys:
            self.ends_s = min(self.ends_s, self._clock.real_s() + 0.3)

    def kill(self) -> None:
        self.send_signal(signal.SIGKILL)
        if not self.stuck:
            self.ends_s, self.code = self._clock.real_s(), -signal.SIGKILL

    def wait(self, timeout: float) -> int:
        if self.poll() is None:
            self._clock.pause(timeout)
            raise subprocess.TimeoutExpired("controller", timeout)
        return self.code


class Ear:
    """The pipe from that controller; what happens meanwhile (`script`) happens while one listens."""

    def __init__(self, child: Child, clock: VirtualClock, script: Callable[[float], None]) -> None:
        self._child, self._clock, self._script = child, clock, script
        self.began, self._heard_s = False, clock.real_s()

    @property
    def silence_s(self) -> float:
        return self._clock.real_s() - self._heard_s

    def listen(self, real_s: float) -> None:
        self._clock.pause(real_s)
        self._script(self._clock.real_s())
        if self._child.beats:
            self.began, self._heard_s = True, self._clock.real_s()


class Bench(Supervisor):
    """The real supervisor with its controller and its wires played. `offs`: when, which ovens, shared."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.clock = VirtualClock()
        super().__init__(clock=self.clock)
        monkeypatch.setattr(supervisor, "off_all", self.off_all)
        self.offs: list[tuple[float, tuple[str, ...], bool]] = []
        self.dead_until_s: dict[str, float] = {}
        self.script: Callable[[float], None] = lambda _: None
        self.how: dict[str, Any] = {}
        self.child = Child(self.clock)
        self.began_s, self.off_takes_s = -1.0, 0.1

    def off_all(
        self, ovens: Sequence[Oven], clock: Any, share: bool, tell: Callable[[str], None], reads: int
    ) -> dict[str, bool]:
        assert reads == 3
        names = tuple(oven.name for oven in ovens)
        now_s = self.clock.real_s()
        self.offs.append((round(now_s, 3), names, share))
        self.clock.pause(self.off_takes_s)
        return {name: now_s >= self.dead_until_s.get(name, 0.0) for name in names}

    def _start(self, lock_fd: int) -> Any:
        self.began_s = self.clock.real_s()
        self.child = Child(self.clock, **self.how)
        return self.child, Ear(self.child, self.clock, self.script)

    def watch(self, script: Callable[[float], None] = lambda _: None, **how: Any) -> int:
        """Run it; the oven gets its mark when the controller's first beat comes, as in a heat."""
        heats_s = how.pop("heats_s", 0.6)

        def all_of_it(now_s: float) -> None:
            if abs(now_s - heats_s) < 0.05:
                mark("left")
            script(now_s)

        self.script, self.how = all_of_it, how
        return self.run()

    @property
    def said(self) -> supervisor_report.LastWords:
        words = supervisor_report.read()
        assert words is not None
        return words


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Bench]:
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    monkeypatch.setattr(off_stamp, "MACHINE", tmp_path / "machine")  # others on this computer say off too
    before = [signal.getsignal(number) for number in STOPS]
    yield Bench(monkeypatch)
    for number, handler in zip(STOPS, before, strict=True):
        signal.signal(number, handler)


def test_a_controller_that_ends_well_leaves_nothing_to_cut(bench: Bench) -> None:
    def leave(now_s: float) -> None:
        if now_s > 29.5:
            running_ovens.clear("left")

    assert bench.watch(leave, ends_s=30.0) == 0
    assert bench.offs == []
    assert bench.child.got == []
    assert supervisor_report.read() is None
    with pytest.raises(ValueError, match="once more"), supervisor._only_one():  # the lock is free again
        raise ValueError("once more")
    assert bench.watch(leave, ends_s=30.0) == 0


def test_one_that_ends_well_without_its_off_is_still_cut(bench: Bench) -> None:
    assert bench.watch(ends_s=30.0) == 0
    assert [(names, shared) for _, names, shared in bench.offs] == [(("left",), False)]
    assert bench.said.why == "the controller ended without reading back off"
    assert running_ovens.marked() == []


@pytest.mark.parametrize(
    ("code", "why"),
    [
        (1, "ended with a fault (code 1)"),
        (OFF_NOT_READ, "ended without reading back off"),
        (-9, "killed (SIGKILL)"),
        (-6, "killed (SIGABRT)"),
    ],
)
def test_how_it_ended_is_said_and_latched(bench: Bench, code: int, why: str) -> None:
    assert bench.watch(ends_s=30.0, code=code) == 0
    assert why in bench.said.why
    assert bench.said.off == {"left": True}
    latched = latch.read("left")
    assert latched is not None
    assert latched.kind == "controller_lost"


def test_the_latch_of_a_lost_controller_lies_in_the_home_though_it_was_moved(
    bench: Bench, tmp_path: Path
) -> None:
    """What stands at the old path meanwhile is not the home: whoever asked for it has made it anew."""
    moved = tmp_path.with_name(f"{tmp_path.name}-moved")

    def move(now_s: float) -> None:
        if now_s > 10.0 and not moved.exists():
            tmp_path.rename(moved)

    assert bench.watch(move, ends_s=30.0, code=-9) == 0
    assert sorted(path.name for path in (moved / "latches").iterdir()) == ["left.latch"]
    assert not (tmp_path / "latches").exists() or not list((tmp_path / "latches").iterdir())
    assert latch.read("left") is not None


def test_a_latch_that_it_has_seen_armed_is_tripped_though_nobody_may_open_it_any_more(
    bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A home that became read-only in the heat left an interruption, which could have been taken up."""
    really = os.open

    def read_only(path: Any, flags: int, *mode: int) -> int:
        if str(path).startswith(str(tmp_path)) and flags & (os.O_WRONLY | os.O_RDWR):
            raise OSError(errno.EROFS, "Read-only file system", str(path))
        return really(path, flags, *mode)

    def arm_then_read_only(now_s: float) -> None:
        at(0.7, lambda: latch.Latch("left", bench.clock.utc).arm(7))(now_s)
        at(10.0, lambda: monkeypatch.setattr(os, "open", read_only))(now_s)

    assert bench.watch(arm_then_read_only, ends_s=30.0, code=-9) == 0
    found = latch.read("left")
    assert found is not None
    assert (found.state, found.kind) == ("tripped", "controller_lost")


def test_three_seconds_of_silence_and_it_is_killed_and_cut_within_five(bench: Bench) -> None:
    assert bench.watch(beats_s=10.0) == 0
    assert bench.child.got[0][1] == signal.SIGKILL
    assert 13.0 < bench.child.got[0][0] <= 13.2
    assert bench.offs[0][0] <= 15.0
    assert "silent for 3." in bench.said.why


def test_silence_of_just_three_seconds_is_borne(bench: Bench) -> None:
    bench.watch(ends_s=30.0, pause_s=(10.0, 12.85))
    assert bench.child.got == []


def test_one_stuck_in_the_kernel_is_not_waited_for(bench: Bench) -> None:
    assert bench.watch(beats_s=10.0, stuck=True) == 0
    killed_s = bench.child.got[0][0]
    assert bench.offs[0][0] == pytest.approx(killed_s + 0.5, abs=0.01)
    assert bench.offs[0][0] < 15.0


@pytest.mark.parametrize(("first_s", "lives"), [(19.5, True), (20.5, False)])
def test_it_has_twenty_seconds_to_begin(bench: Bench, first_s: float, lives: bool) -> None:
    bench.watch(first_s=first_s, ends_s=30.0)
    assert (bench.child.got == []) is lives
    if not lives:
        assert 20.0 < bench.child.got[0][0] <= 20.2


def at(seconds: float, act: Callable[[], None]) -> Callable[[float], None]:
    return lambda now_s: act() if abs(now_s - seconds) < 0.05 else None


@pytest.mark.parametrize("number", STOPS)
def test_a_stop_is_passed_on_once(bench: Bench, number: int) -> None:
    def leave(now_s: float) -> None:
        if now_s > 10.1:
            running_ovens.clear("left")
        at(10.0, lambda: os.kill(os.getpid(), number))(now_s)

    assert bench.watch(leave) == 0
    assert [n for _, n in bench.child.got] == [signal.SIGTERM]
    assert bench.child.got[0][0] <= 10.2
    assert bench.offs == []


def test_one_that_does_not_obey_is_killed_five_seconds_later(bench: Bench) -> None:
    stop = at(10.0, lambda: os.kill(os.getpid(), signal.SIGTERM))
    assert bench.watch(stop, obeys=False) == 0
    assert [n for _, n in bench.child.got] == [signal.SIGTERM, signal.SIGKILL]
    assert 15.0 < bench.child.got[1][0] <= 15.3
    assert "did not stop after SIGTERM" in bench.said.why


def test_what_was_left_hot_is_cut_before_the_controller_starts(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    left_by_a_crash("right", monkeypatch)
    assert bench.watch(ends_s=5.0, heats_s=-1.0) == 0
    assert bench.offs == [(0.0, ("right",), False)]
    assert 0.0 < bench.began_s < 1.0
    assert "went down during a heat" in bench.said.why
    assert latch.read("right") is None  # what the latch said before stays as it was


def test_a_dead_line_does_not_keep_a_start_waiting(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bench, "_try_on", lambda left: None)
    left_by_a_crash("right", monkeypatch)
    bench.dead_until_s = {"right": 1e9}
    assert bench.watch(at(4.5, lambda: running_ovens.clear("right")), ends_s=5.0) == 0
    assert [shared for _, _, shared in bench.offs[:2]] == [False, True]
    assert bench.began_s < 3.0


def test_a_recording_that_broke_off_has_left_nothing_to_be_cut(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It said "went down during a heat", and the silent board of a recording kept every oven from a start."""
    left_by_a_crash("right", monkeypatch, heats=False)
    bench.dead_until_s = {"right": 1e9}
    assert bench.watch(ends_s=5.0) == 0
    assert [names for _, names, _ in bench.offs if "right" in names] == []
    assert [oven.name for oven in running_ovens.marked() if oven.name == "right"] == []


def test_a_recording_whose_controller_dies_is_sent_off_once_and_holds_nobody_up(bench: Bench) -> None:
    bench.dead_until_s = {"right": 1e9}
    assert bench.watch(at(0.7, lambda: mark("right", heats=False)), ends_s=30.0, code=-9) == 0
    assert [names for _, names, _ in bench.offs] == [("left", "right")]
    assert (bench.said.off, bench.said.watched) == ({"left": True}, ["right"])
    assert (latch.read("right"), running_ovens.marked()) == (None, [])


def test_a_silent_oven_is_tried_again_beside_a_stuck_process_until_it_answers(bench: Bench) -> None:
    bench.dead_until_s = {"right": 40.0}
    assert bench.watch(at(0.7, lambda: mark("right")), ends_s=30.0, code=1) == 0
    assert bench.offs[0][1:] == (("left", "right"), False)
    # at once beside whoever holds the port, then every two seconds, the silent one only
    assert bench.offs[1][1:] == (("right",), True)
    assert bench.offs[1][0] - bench.offs[0][0] == pytest.approx(0.1)
    assert [b[0] - a[0] for a, b in pairwise(bench.offs[1:])] == pytest.approx([2.1] * (len(bench.offs) - 2))
    assert 40.0 <= bench.offs[-1][0] <= 42.1
    assert bench.said.off == {"left": True, "right": True}
    assert running_ovens.marked() == []


@pytest.mark.parametrize("away_s", [75.0, 3600.0])
def test_w6_it_keeps_trying_however_long_and_says_so_meanwhile(bench: Bench, away_s: float) -> None:
    bench.dead_until_s = {"left": 30.0 + away_s}
    assert bench.watch(ends_s=30.0, code=1) == 0
    assert 30.0 + away_s <= bench.offs[-1][0] <= 32.2 + away_s
    assert bench.said.off == {"left": True}
    assert running_ovens.marked() == []


def test_what_the_first_try_has_not_switched_off_is_latched_before_the_next(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever is killed while it tries leaves a trip, not an interruption that may be taken up."""
    found: list[latch.Latched | None] = []

    def look_and_try(*more: Any, **how: Any) -> dict[str, bool]:
        found.append(latch.read("left"))
        return bench.off_all(*more, **how)

    monkeypatch.setattr(supervisor, "off_all", look_and_try)
    bench.dead_until_s = {"left": 60.0}
    assert bench.watch(ends_s=30.0, code=-9) == 0
    assert found[0] is None
    assert found[1] is not None
    assert found[1].state == "tripped"
    assert "killed (SIGKILL); off is sent until it is read back" in found[1].reason
    assert bench.said.off == {"left": True}


def test_the_stop_of_a_person_or_the_system_leaves_in_the_time_of_the_service_with_a_true_word(
    bench: Bench,
) -> None:
    """The unit of the guide gives 15 s; the slowest controller and the slowest ports are in it."""
    bench.dead_until_s, bench.off_takes_s = {"left": 1e9}, 3.0
    assert bench.watch(at(10.0, lambda: os.kill(os.getpid(), signal.SIGTERM)), obeys=False) == 1
    assert 19.0 <= bench.clock.real_s() <= 24.0
    assert len(bench.offs) >= 2
    assert bench.said.off == {"left": False}
    assert "Cut the power by hand" in bench.said.line()
    assert [oven.name for oven in running_ovens.marked()] == ["left"]  # the next supervisor tries on


def test_a_stop_while_it_tries_ends_the_trying(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    bench.dead_until_s = {"left": 1e9}

    def off_and_stop() -> None:
        off_stamp.leave(home.home(), None, [], "a test")
        os.kill(os.getpid(), signal.SIGTERM)

    stop = at(10.0, off_and_stop)
    played = bench.off_all

    def stopped_again(ovens: Sequence[Oven], clock: Any, **how: Any) -> dict[str, bool]:
        if len(bench.offs) == 20:
            os.kill(os.getpid(), signal.SIGTERM)
        return played(ovens, clock, **how)

    monkeypatch.setattr(supervisor, "off_all", stopped_again)
    assert bench.watch(stop) == 1  # the first stop came from an off, and ends nothing here
    assert len(bench.offs) == 21
    assert bench.said.off == {"left": False}
    assert [oven.name for oven in running_ovens.marked()] == ["left"]
    latched = latch.read("left")
    assert latched is not None
    assert "NOT read back" in latched.line()


def torn() -> None:
    (running_ovens.folder() / "left.toml").write_text("name = 'le")


def gone() -> None:
    shutil.rmtree(running_ovens.folder())


@pytest.mark.parametrize("harm", [torn, gone])
def test_w5_no_harm_to_a_mark_makes_it_forget_the_oven(bench: Bench, harm: Callable[[], None]) -> None:
    assert bench.watch(at(10.0, harm), ends_s=30.0, code=1) == 0
    assert bench.offs[0][1] == ("left",)


def test_a_torn_mark_at_the_start_is_said_and_bars_a_heat_of_that_oven(bench: Bench) -> None:
    torn()
    bench.watch(ends_s=5.0, heats_s=-1.0)
    assert bench.said.off == {"left": False}
    assert "may be HOT" in bench.said.why
    assert "Cut the power by hand" in bench.said.line()
    with pytest.raises(RecordError, match="cannot be read"):
        mark("left")


def test_the_mark_of_a_process_that_lives_is_anothers(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(os, "getpid", os.getppid)
        mark("right")
    bench.watch(ends_s=5.0, code=1, heats_s=-1.0)
    assert bench.offs == []


def test_a_disk_that_fails_in_mid_heat_hides_no_oven(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken() -> list[running_ovens.Mark]:
        raise OSError(errno.EIO, "Input/output error")

    fail = at(1.8, lambda: monkeypatch.setattr(running_ovens, "marks", broken))
    assert bench.watch(fail, ends_s=30.0, code=1) == 0
    assert bench.offs[0][1] == ("left",)


def test_the_marks_are_read_once_a_second_at_most(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    looks: list[float] = []
    marks = running_ovens.marks

    def counted() -> list[running_ovens.Mark]:
        looks.append(bench.clock.real_s())
        return marks()

    monkeypatch.setattr(running_ovens, "marks", counted)
    bench.watch(ends_s=60.0)
    assert 50 <= len(looks) <= 65


def test_a_record_that_cannot_be_kept_does_not_undo_the_off(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from kilnctl.processes import post_mortem

    def broken(*_: object) -> None:
        raise MemoryError("invented")

    monkeypatch.setattr(post_mortem, "keep", broken)
    assert bench.watch(ends_s=30.0, code=1) == 0
    assert "could not be recorded: MemoryError" in capsys.readouterr().out


def test_a_second_one_is_refused_with_its_own_code(bench: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    refused: list[int] = []

    def second(now_s: float) -> None:
        if not refused:
            refused.append(supervisor.main())
            with pytest.raises(RunRefused):
                Supervisor().run()

    assert bench.watch(second, ends_s=5.0) == 0
    assert refused == [3]  # as every refusal of kilnctl
    assert (
        f"another supervisor is running here (process {os.getpid()}); `kilnctl off` ends it"
        in capsys.readouterr().out
    )


def test_a_home_that_cannot_be_used_is_one_line(
    bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "supervisor.lock").mkdir()
    assert supervisor.main() == 1
    said = capsys.readouterr().out
    assert said.count("\n") == 1
    assert "supervisor.lock" in said


@pytest.mark.usefixtures("own_home")
def test_what_keeps_the_other_ovens_from_a_start_names_the_command_that_lifts_it(tmp_path: Path) -> None:
    supervisor_report.write(
        supervisor_report.LastWords("2026-11-03T09:00:00+00:00", "killed", {"left": False})
    )
    said = spawn._why_not(tmp_path / "no.log")
    assert "NOT read back as off: left" in said
    assert "`kilnctl off` ends the looking, and other ovens may be heated" in said
