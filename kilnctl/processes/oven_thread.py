"""One oven in the controller: the thread that runs it, watches it afterwards, and answers for it."""

import contextlib
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta
from typing import Any

from kilnctl.clock import Clock
from kilnctl.devices.interfaces import OvenIO
from kilnctl.errors import KilnctlError
from kilnctl.heat import trip_record
from kilnctl.heat.heat_state import Heat
from kilnctl.heat.job import Outcome
from kilnctl.heat.runner import Runner
from kilnctl.heat.telling.annunciator import Calls, may_arm, whom_to_call
from kilnctl.heat.telling.horn_patterns import attention
from kilnctl.heat.telling.snapshot_builder import snapshot
from kilnctl.heat.telling.time_left import NO_FORECAST
from kilnctl.heat.unpowered import never_heated, unpowered
from kilnctl.interlocks.contract import live
from kilnctl.link.snapshot import Answer, Command, Snapshot
from kilnctl.link.trip_head import off_by_now
from kilnctl.marks import hot_ovens, running_ovens
from kilnctl.readings import Scan

Publish = Callable[[Snapshot], None]
# Real seconds without a finished tick after which an oven no longer counts as ticking.
TICK_GRACE_S = 0.3


class Hosted:
    """One oven in the controller: its thread, its runner, its last outcome."""

    def __init__(self, runner: Runner, clock: Clock, publish: Publish) -> None:
        self.runner, self.clock, self._publish = runner, clock, publish
        self.name, self.run_id = runner.heat.station.oven.name, runner.heat.run_id
        self.outcome: Outcome | None = None
        self.error: BaseException | None = None
        self.why_no_heat: Callable[[], str] = str  # the last look at the marks, before the first heat
        self.before: Callable[[Hosted], str] = lambda _hosted: ""
        self.afterwards: Callable[[], None] = lambda: None
        self.saw_heat: Callable[[], None] = lambda: None  # a recording the first time, any in its watch
        self.read_well: Callable[[], None] = lambda: None  # the first off after an end without a trip
        self._saw_heat = self._read_well = False
        self._sequence = 0
        self._oven_io_lock = threading.RLock()  # after the run: the watch, and whoever orders off
        self._left = False
        self._ended = threading.Event()
        self._leave = threading.Event()
        self._off = False
        self._ticked_s = clock.real_s()
        self._thread = threading.Thread(target=self._main, name=f"oven-{self.name}")

    @property
    def heat(self) -> Heat:
        """The heat that is run."""
        return self.runner.heat

    @property
    def busy(self) -> bool:
        """True while the run goes on."""
        return not self._ended.is_set()

    @property
    def alive(self) -> bool:
        """True while the oven is run or watched."""
        return self._thread.is_alive()

    def start(self) -> None:
        """Start the thread."""
        self._thread.start()

    def ticking(self, now_s: float) -> bool:
        """True when the last tick is recent, or nothing ticks any more.

        Nor is a tick missed while the end of a heat is written: a full disk or a locked logbook may keep that
        waiting for longer than the supervisor waits for a beat, and the heat has been read off.
        """
        allowed_s = self.heat.station.oven.tick_s / self.heat.time_scale + TICK_GRACE_S
        return not self.alive or self.runner.writes_end or now_s - self._ticked_s < allowed_s

    def off(self, why: str) -> None:
        """Ask for heat off. From any thread. The watch goes on: it sends off all the time."""
        self.runner.off(why)

    def let_go(self) -> None:
        """End the watch over a hot oven: somebody else needs its port."""
        self._leave.set()

    def wait_off(self, real_s: float) -> bool:
        """Wait until the run has ended; return True when off was read back, by the watch in its last tick."""
        self._ended.wait(real_s)
        return self.outcome is not None and self._off

    def read_off(self) -> bool | None:
        """Send off now and read it back, beside the tick; None when the oven has been left. Any thread.

        Only after the run has cut its heat is an off that was read worth something: see `wait_cut`.
        """
        with self._oven_io_lock:
            off = None if self._left else self.heat.station.oven_io.off()
            self._ticked_s = self.clock.real_s()  # three slow looks keep the watch waiting: no thread hangs
            return off

    @contextlib.contextmanager
    def kept(self) -> Iterator[None]:
        """Let nobody leave the oven meanwhile: a cold one is left at once, in mid-order otherwise."""
        with self._oven_io_lock:
            yield

    def look_s(self) -> float | None:
        """Return how long `read_off` takes at the board's pace, None where its last word was not answered."""
        return self.heat.station.oven_io.look_s()

    def wait_cut(self, real_s: float) -> bool:
        """Wait until the run has cut its heat for good; return whether it has."""
        return self.runner.is_cut.wait(max(0.0, real_s))

    def join(self, real_s: float) -> bool:
        """Leave the watch too, wait for the thread; return True when off was read back."""
        self._leave.set()
        self._thread.join(real_s)
        return not self.alive and self.outcome is not None and self._off

    def command(self, command: Command) -> Answer:
        """Pass a command to the run."""
        if not self.busy and command.word == "acknowledge":
            self.runner.hear()
            return Answer(True)
        if not self.busy:
            beside = f"; `kilnctl part note NAME WORDS --run {self.run_id}` writes beside its record"
            return Answer(False, "the run is over" + (beside if command.word == "mark" else ""))
        return self.runner.command(command)

    def status(self) -> dict[str, Any]:
        """Return the outcome, if the run is over, as plain data; `holds` while the oven is still watched."""
        if self.outcome is None:
            return {"run": self.run_id, "busy": True, "holds": True}
        o = self.outcome
        off = off_by_now(self._snapshot(), o.heat_off)
        said = {"outcome": o.outcome, "cause": o.cause, "heat_off_confirmed": off}
        isolator = self.heat.station.oven.isolator
        summary = {**o.summary, **said, "run": self.run_id, "isolator": isolator}
        state = {"run": self.run_id, "busy": False, "holds": self.alive}
        return {**state, "exit_code": o.exit_code, "summary": summary}

    def publish(self, runner: Runner) -> None:
        """Publish a tick, then forecast some steps more. Never raises."""
        self._ticked_s = self.clock.real_s()
        self._sequence += 1
        self._publish(self._snapshot())
        if runner.now.seen_on and not self._saw_heat:
            self._saw_heat = True
            self.saw_heat()
        if runner.live_forecast is not None and runner.now.live:
            runner.say_of_oven(runner.live_forecast.work(runner.heat, runner.now))

    def _snapshot(self) -> Snapshot:
        live = self.runner.live_forecast
        forecast = NO_FORECAST if live is None else live.forecast
        return snapshot(self.heat, self.runner.now, self._sequence, forecast)

    def go_on(self) -> bool:
        """Say that this thread is well, before the first tick; return False where off was asked."""
        self._ticked_s = self.clock.real_s()
        off = self.runner.off_left() if self.runner.off_left is not None else None
        if off is not None:
            self.runner.off(off)
        self.runner.look_for_off()
        return not self.runner.off_asked

    def _main(self) -> None:
        oven_io = self.heat.station.oven_io
        try:
            trouble = self._looked_before(oven_io)
            self.runner.clocks.start()
            self.heat.recorder.start_clock()
            if trouble:
                self.runner.off(trouble)
            self.outcome = self.runner.run()
            self._look_afterwards()
        except BaseException as error:
            # The run has cut the heat, latched and recorded why; the outcome tells it to whoever asks.
            self.error = error
            why = self.runner.now.cause or trip_record.words_of(error)
            self.outcome = Outcome("tripped", why, oven_io.off(), 4, {})
        finally:
            self._off = self.outcome is not None and self.outcome.heat_off
            self._ended.set()
            try:
                self._watch(oven_io)
            except BaseException as error:
                self._off = oven_io.off()
                self.runner.broke(error)
                raise
            finally:
                self._end(oven_io)

    def _looked_before(self, oven_io: OvenIO) -> str:
        """Return why nothing may be heated. What breaks there trips, as in a tick: heat may have been on."""
        try:
            return self.why_no_heat() or self.before(self)
        except KilnctlError as error:
            return str(error)
        except Exception as error:
            self.error = error
            oven_io.off()
            self.runner.broke(error)
            return ""

    def _look_afterwards(self) -> None:
        """Learn from the heat. It has ended, and its end stands whatever breaks here."""
        try:
            self.afterwards()
        except Exception as error:
            self.error = error

    def _watch(self, oven_io: OvenIO) -> None:
        """Send off and show the oven with every tick until it is cold: hot steel stays hot after the run."""
        runner, deadline_s, calls = self.runner, self.clock.now_s(), Calls(oven_io)
        runner.begin_watch()
        while not self._leave.is_set() and not self._never_powered():
            with self._oven_io_lock:
                scan = oven_io.scan(self.clock.now_s())
                self._off = oven_io.off()
            runner.watch_cut(scan, self._off)
            self._mark_by(scan)
            self._call(calls)
            self.publish(runner)
            if (after := runner.now.after) is not None and after.over(self._off, self.clock.now_s()):
                return
            deadline_s = max(deadline_s + self.heat.station.oven.tick_s, self.clock.now_s())
            self.clock.wait_until(deadline_s, self._leave)

    def _mark_by(self, scan: Scan) -> None:
        """Say in the mark that the heat is off; where the output comes on again, that it may heat."""
        if self._off and not self._read_well and self.runner.now.trip is None:
            self._read_well = True
            self.read_well()
        elif self._read_well and not self._off and (scan.heat_on or live(scan)):
            self._read_well = False
            self.saw_heat()

    def _never_powered(self) -> bool:
        return unpowered(self.heat, self.runner.now) and never_heated(self.heat, self.runner.now)

    def _call(self, calls: Calls) -> None:
        """Sound the trip until somebody has heard it; nothing else calls after the end."""
        if self.heat.station.can_call:
            now = self.runner.now
            call = whom_to_call(now) if now.state == "tripped" else ""
            attends = attention(call, self._sequence, now.alarms.heard)
            calls.sound(attends, may_arm(now))

    def _end(self, oven_io: OvenIO) -> None:
        """Leave the oven: off, horn silent, port given back; where it may be hot, a sign says so."""
        self._off = oven_io.off()
        never = never_heated(self.heat, self.runner.now) and self.runner.now.trip is None
        if running_ovens.is_watched(self.name) or (self._off and not self.heat.job.record_only):
            running_ovens.clear(self.name)
        elif self._off:  # a recording, beside the mark of an earlier heat perhaps
            running_ovens.clear_at(self.heat.station.oven)
        if self.heat.station.can_call:
            oven_io.sound(False, False)
        with self._oven_io_lock:
            self._left = True
            oven_io.close()
        after, clock = self.runner.now.after, self.clock
        if after is not None and after.cold:
            hot_ovens.clear(self.name)
        elif not never:
            at_c, seen_s = (None, clock.now_s()) if after is None else (after.newest_c, after.newest_s)
            at = clock.utc() - timedelta(seconds=(clock.now_s() - seen_s) / self.heat.time_scale)
            hot_ovens.sign(hot_ovens.Hot(self.name, at.isoformat(timespec="seconds"), self.run_id, at_c))
        self._sequence += 1
        self._publish(replace(self._snapshot(), left=True))
