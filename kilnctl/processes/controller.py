"""The controller process: hosts every running oven, one thread each, and the socket to the screens.

Started by the supervisor as `python -m kilnctl.processes.controller --beat-fd N`. It beats only when every
running oven has finished a tick since the last beat, so that a hung tick is seen as silence.
"""

import signal
import sys
import threading
from typing import Any

import kilnctl.processes.plain_sha256  # noqa: F401 - before anything that loads hashlib
from kilnctl.clock import RealClock
from kilnctl.config import home
from kilnctl.devices.bus_registry import Buses
from kilnctl.errors import Doubtful, KilnctlError
from kilnctl.link.server import LinkServer
from kilnctl.link.snapshot import Answer, Command
from kilnctl.link.start import job_key, start_of
from kilnctl.marks.mark_writer import Ties
from kilnctl.permits.admission import admit, page
from kilnctl.permits.challenge import Challenges
from kilnctl.processes.heartbeat import OFF_NOT_READ, Beat
from kilnctl.processes.off_order import OffOrders, off_by
from kilnctl.processes.oven_thread import Hosted
from kilnctl.processes.start_job import insist_on_read_off, start_job

IDLE_EXIT_S = 5.0
LOOP_S = 0.1


class Controller:
    """Hosts runs. `handle` is called in the link's thread, `loop` is the main thread."""

    def __init__(self, beat: Beat | None) -> None:
        self.clock = RealClock()
        self.beat = beat
        self._heard_s = self.clock.real_s()
        self.stop = threading.Event()
        self.why = "the controller ended"
        self.ovens: dict[str, Hosted] = {}
        self.buses = Buses(self.clock)
        self.challenges = Challenges(self.clock)
        self.offs = OffOrders(self.ovens, self.buses, self.clock)
        self.offs.listen(home.home())
        self._lock = threading.Lock()
        with self._lock:  # a job that comes before the link is whole must wait for it
            self.link = LinkServer(home.socket_path(), self.handle, self.clock)

    def off(self, why: str) -> None:
        """Cut the heat of every oven; their threads verify it."""
        for hosted in list(self.ovens.values()):
            hosted.off(why)

    def handle(self, command: Command) -> Answer:
        """Answer a command from the socket."""
        if command.word == "may":
            return self._may(command)
        if command.word == "run":
            return self._start(command)
        targets = [h for name, h in self.ovens.items() if command.oven in (None, name)]
        if command.word == "off":
            return self._off(command, targets)
        if command.word == "let go":
            return self._let_go(targets)
        if command.word == "status":
            return Answer(True, data={"ovens": {h.name: h.status() for h in targets}})
        if not targets:
            return Answer(
                False, f'no oven "{command.oven}" is running' if command.oven else "no oven is running"
            )
        if len(targets) > 1:
            return Answer(False, f"say which oven: {', '.join(h.name for h in targets)}")
        return targets[0].command(command)

    def _off(self, command: Command, targets: list[Hosted]) -> Answer:
        why = off_by(command.who)
        verified = self.offs.verified({hosted.name: hosted for hosted in targets if hosted.alive}, why)
        if not verified:
            return Answer(False, "nothing is run or watched here; `kilnctl off` goes to the ports")
        if all(verified.values()):
            return Answer(True, "heat is off, read back", {"verified": verified})
        failed = ", ".join(name for name, good in verified.items() if not good)
        return Answer(False, f"off was sent but not read back: {failed}", {"verified": verified})

    def _let_go(self, targets: list[Hosted]) -> Answer:
        busy = [hosted.name for hosted in targets if hosted.busy]
        if busy:
            return Answer(False, f"still running: {', '.join(busy)}")
        for hosted in targets:
            hosted.let_go()
        return Answer(True)

    def _may(self, command: Command) -> Answer:
        """Say what stands in the way of a start, or what a person must acknowledge before it."""
        try:
            asked = admit(start_of(command.args), self.challenges, self.clock)
            insist_on_read_off(asked, self.ovens)
        except KilnctlError as e:
            return Answer(False, str(e), {"error": type(e).__name__})
        permission = asked.permission
        open_still = permission.asked and not permission.refusals
        challenge = self.challenges.ask(job_key(asked.start)) if open_still else ""
        return Answer(not permission.refusals, "; ".join(permission.refusals), page(permission, challenge))

    def _start(self, command: Command) -> Answer:
        with self._lock:
            try:
                start = start_of(command.args)
                with self.offs.starting(start.oven, start.oven_name):
                    publish, ties = self.link.publish, Ties(self._supervised, self.offs.held_by)
                    hosted = start_job(start, self.ovens, publish, self.buses, self.challenges, ties)
                    self.ovens[hosted.name] = hosted
            except KilnctlError as e:
                doubts = e.doubts if isinstance(e, Doubtful) else {}
                return Answer(False, str(e), {"error": type(e).__name__, "doubts": doubts})
            return Answer(True, data={"run": hosted.run_id, "oven": hosted.name})

    def _supervised(self) -> bool:
        return self.beat is None or not self.beat.alone

    def loop(self) -> None:
        """Beat while all is well; end when told, or when nothing has been going on for a while."""
        idle_since_s = self.clock.real_s()
        while not self.stop.wait(LOOP_S):
            now_s = self.clock.real_s()
            if not self._supervised():
                self.why = "the supervisor is dead"
                break
            if self.challenges.waiting or any(h.alive for h in self.ovens.values()):
                idle_since_s = now_s
            elif now_s - idle_since_s > IDLE_EXIT_S:
                break
            self._beat(now_s)
            self.offs.settle()

    def _beat(self, now_s: float) -> None:
        if self.beat is None:
            return
        if not self.beat.unheard:
            self._heard_s = now_s
        for hosted in self.ovens.values():
            hosted.runner.supervisor_age_s = now_s - self._heard_s
        if all(h.ticking(now_s) for h in self.ovens.values()):
            self.beat.send()

    def close(self, why: str) -> bool:
        """Cut the heat of every oven, wait until each has verified it, and leave."""
        self.off(why)
        good = all([h.join(4.0) for h in self.ovens.values()])
        self.link.close()
        self.offs.close()
        return good


def main(argv: list[str] | None = None) -> int:
    """Run the controller until it is told to stop or has nothing to do."""
    words = sys.argv[1:] if argv is None else argv
    controller = Controller(Beat(int(words[1])) if words[:1] == ["--beat-fd"] else None)

    def stop(number: int, _frame: Any) -> None:
        controller.why = f"the controller was told to stop ({signal.Signals(number).name})"
        controller.stop.set()

    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, stop)
    try:
        controller.loop()
    finally:
        good = controller.close(controller.why)
    return 0 if good else OFF_NOT_READ


if __name__ == "__main__":
    sys.exit(main())
