"""One oven in the controller: the thread that runs it, watches it afterwards, and answers for it."""

import threading
from collections.abc import Callable
from typing import Any

from kilnctl.clock import Clock
from kilnctl.devices.roles import Hands
from kilnctl.link.snapshot import Answer, Command, Snapshot
from kilnctl.runtime import running
from kilnctl.runtime.job import Outcome
from kilnctl.runtime.runner import Runner
from kilnctl.runtime.view import HOT_C, LIVE, snapshot

Publish = Callable[[Snapshot], None]
# Real seconds without a finished tick after which an oven no longer counts as ticking.
TICK_GRACE_S = 1.5
# After the run the oven is watched (heat off is sent again each tick) until it is cold or gone.
WATCH_MISSES = 10


class Hosted:
    """One oven in the controller: its thread, its runner, its last outcome."""

    def __init__(self, runner: Runner, clock: Clock, publish: Publish) -> None:
        self.runner, self.clock, self._publish = runner, clock, publish
        self.name = runner.station.oven.name
        self.run_id = runner.run_id
        self.outcome: Outcome | None = None
        self.error: BaseException | None = None
        self.afterwards: Callable[[], None] = lambda: None
        self._sequence = 0
        self._ended = threading.Event()
        self._leave = threading.Event()
        self._ticked_s = clock.real_s()
        self._thread = threading.Thread(target=self._main, name=f"oven-{self.name}")

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
        """True when the last tick is recent, or nothing ticks any more."""
        allowed_s = self.runner.station.oven.tick_s / self.runner.time_scale + TICK_GRACE_S
        return not self.alive or now_s - self._ticked_s < allowed_s

    def off(self, why: str) -> None:
        """Ask for heat off. From any thread."""
        self._leave.set()
        self.runner.off(why)

    def wait_off(self, real_s: float) -> bool:
        """Wait until the run has ended; return True when off was read back."""
        self._ended.wait(real_s)
        return self.outcome is not None and self.outcome.heat_off

    def join(self, real_s: float) -> bool:
        """Leave the watch too, wait for the thread; return True when off was read back."""
        self._leave.set()
        self._thread.join(real_s)
        return not self.alive and self.outcome is not None and self.outcome.heat_off

    def command(self, command: Command) -> Answer:
        """Pass a command to the run."""
        if not self.busy and command.word == "acknowledge":
            self.runner.hear()
            return Answer(True)
        if not self.busy:
            beside = f"; `kilnctl part NAME --run {self.run_id} ...` writes beside its record"
            return Answer(False, "the heat is over" + (beside if command.word == "mark" else ""))
        return self.runner.command(command)

    def status(self) -> dict[str, Any]:
        """Return the outcome, if the run is over, as plain data; `holds` while the oven is still watched."""
        if self.outcome is None:
            return {"run": self.run_id, "busy": True, "holds": True}
        o = self.outcome
        said = {"outcome": o.outcome, "cause": o.cause, "heat_off_confirmed": o.heat_off}
        isolator = self.runner.station.oven.isolator
        summary = {**said, **o.summary, "run": self.run_id, "isolator": isolator}
        state = {"run": self.run_id, "busy": False, "holds": self.alive}
        return {**state, "exit_code": o.exit_code, "summary": summary}

    def publish(self, runner: Runner) -> None:
        """Publish a tick, then look some steps ahead. Never raises."""
        self._ticked_s = self.clock.real_s()
        self._sequence += 1
        self._publish(snapshot(runner, self._sequence))
        if runner.ahead is not None and runner.state in LIVE:
            runner.ahead.work(runner)

    def _main(self) -> None:
        hands = self.runner.station.hands
        try:
            self.outcome = self.runner.run()
            self.afterwards()
        except BaseException as error:
            # The run has cut the heat and recorded why; the outcome tells it to whoever asks.
            self.error = error
            self.outcome = Outcome("tripped", f"{type(error).__name__}: {error}", hands.off(), 4, {})
        finally:
            self._ended.set()
            self._watch(hands)
            if hands.off():
                running.clear(self.name)
            hands.close()

    def _watch(self, hands: Hands) -> None:
        """Keep sending off and showing the oven until it is cold: hot steel stays hot after the run."""
        misses, deadline_s = 0, self.clock.now_s()
        while not self._leave.is_set() and misses < WATCH_MISSES:
            scan = hands.scan(self.clock.now_s())
            hands.off()
            self.runner.scan = scan
            self.publish(self.runner)
            misses = 0 if scan.process.good else misses + 1
            if scan.process.value is not None and scan.process.value < HOT_C:
                return
            deadline_s += self.runner.station.oven.tick_s
            self.clock.wait_until(deadline_s, self._leave)
