"""A panel that falls to stand-by when its set-point is not written again, and a longer gap in a heat.

The panel is written by its sheet's words alone: mode 1 runs, 0 stands by; while it runs its set-point must
come within the time; a set-point does not start it again, mode = 1 does. What a watchdog has dropped in a
heat stays dropped: RUN = 1, written every second as its dead-man, started it again after each gap.
"""

import threading
import time
from pathlib import Path

import pytest
from foreign.wires import OnAPty, Unit, rtu

from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.errors import ConfigError
from kilnctl.heat.heat_state import Heat
from kilnctl.heat.job import Job
from kilnctl.heat.runner import Runner
from kilnctl.heat.station import station_for
from kilnctl.logbook.recorder import Recorder
from kilnctl.logbook.records import RunHeader
from kilnctl.logbook.writer import Logbook
from kilnctl.profile.segments import Profile, Soak
from kilnctl.tomlfile import loads

pytestmark = pytest.mark.real_bytes
POINT, MODE, HOLDS_S, GAP_S = 0, 1, 2.0, 2.5
FILE = """
name = "stands-by"
use = "tempering"
build = "leaky"
power = "1000 W"
limit = "200 C"
isolator = "red switch"
switching = { kind = "solid-state" }
port.p = { path = "PATH", timeout = "0.2 s" }
device.panel = { port = "p", address = 1 }
[dead_man]
device = "panel"
table = "holding"
register = 1
write = 1
drops_after = "2 s"
zero_drops = true
[signal.process]
device = "panel"
table = "input"
register = 0
unit = "C"
low = "-20 C"
high = "400 C"
[output.heater]
kind = "set-point"
device = "panel"
table = "holding"
register = 0
unit = "C"
park = "0 C"
highest = "180 C"
holds = "2 s"
link_loss = "drops"
back = { device = "panel", table = "holding", register = 1 }
"""


class Panel(Unit):
    """Its cable is out until `out_until_s`; `ran_again` says whether it heated after its time-out."""

    def __init__(self) -> None:
        super().__init__(holding={POINT: 0, MODE: 0}, input={0: 20})
        self.fed_s = time.monotonic()
        self.out_until_s, self.ran_again = 0.0, False
        self.dropped = threading.Event()
        talk = rtu({1: self})

        def wire(came: bytes) -> tuple[int, bytes]:
            return (len(came), b"") if time.monotonic() < self.out_until_s else talk(came)

        self.line = OnAPty(wire)

    def answer(self, pdu: bytes) -> bytes:
        cells = self.tables["holding"]
        if cells[MODE] and time.monotonic() - self.fed_s > HOLDS_S:
            cells[MODE] = 0
            self.dropped.set()
        before = cells[MODE]
        reply = super().answer(pdu)
        if pdu[0] in (6, 16) and (pdu[1:3] == bytes([0, POINT]) or (cells[MODE] and not before)):
            self.fed_s = time.monotonic()
        self.ran_again |= self.dropped.is_set() and cells[MODE] == 1 and cells[POINT] > 30
        return reply


@pytest.fixture
def panel():
    made = Panel()
    yield made
    made.line.close()


def test_what_its_time_out_has_dropped_in_a_heat_stays_dropped(panel: Panel, tmp_path: Path) -> None:
    oven, clock = loads(FILE.replace("PATH", panel.line.path), Oven, ConfigError, "stands-by"), RealClock()
    soak = Soak.model_validate({"at": "150 C", "time": "10 min"})
    profile = Profile.model_validate({"name": "p", "segment": (soak,)})
    oven_io = open_oven_io(oven, clock)
    oven_io.connect()
    oven_io.scan(0.0)
    began_s = time.monotonic()

    def tick(runner: Runner) -> None:
        now_s = time.monotonic() - began_s
        if now_s > 5.0 and not panel.out_until_s:
            assert panel.tables["holding"][MODE] == 1
            assert panel.tables["holding"][POINT] == 150
            panel.out_until_s = time.monotonic() + GAP_S
        if now_s > 14.0:
            runner.off("the test is over")

    book = Logbook(tmp_path / "book")
    run = book.start_run(RunHeader(oven.name, FILE, "", profile.name, started_utc=clock.utc().timestamp()))
    recorder = Recorder(book, run, clock)
    station = station_for(oven, profile, oven_io)
    outcome = Runner(Heat(station, Job(profile), recorder, clock, run, 1.0), tick).run()
    oven_io.close()
    assert panel.dropped.is_set(), "the gap was to be longer than its time"
    assert not panel.ran_again
    assert outcome.outcome == "tripped"
    assert "stand-by" in outcome.cause
