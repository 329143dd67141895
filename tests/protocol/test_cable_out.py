"""The data cable is out and in again while the set-up counts the seconds, over real bytes."""

import threading
import time

import pytest
from faults.planted.bench import OVEN, Bench

from kilnctl.clock import RealClock
from kilnctl.commissioning.drills import drills
from kilnctl.config.oven import Oven
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.errors import ConfigError
from kilnctl.permits.dead_man_test import Finding
from kilnctl.tomlfile import loads

pytestmark = pytest.mark.real_bytes
ARM = '[[arm]]\ndevice = "relays"\ntable = "coil"\nregister = 3\nwrite = 1\n'


class Pulled(Bench):
    """Its cable is pulled once the heater is on, and in again so many seconds later; its lamp by time."""

    def __init__(self, out_s: float) -> None:
        super().__init__(holds_s=2.0)
        self.leave = threading.Event()
        self.out_s, self.in_s, self.told = out_s, 0.0, []
        self.hands: threading.Thread | None = None

    def tell(self, line: str) -> None:
        self.told.append(line)
        if "pull the data cable" in line:
            self.was_on = bool(self.relays.tables["coil"][0])
            self.hands = threading.Thread(target=self._out_and_in)
            self.hands.start()

    def _out_and_in(self) -> None:
        while not (self.relays.tables["coil"][0] and self.relays.tables["coil"][1]):
            time.sleep(0.05)
        self.cable = not self.out_s
        self.leave.wait(self.out_s)
        self.before = len(self.relays.written)
        self.cable = True

    def since(self) -> list[tuple[str, int, list[int]]]:
        """What was written after the cable was in again."""
        return self.relays.written[self.before :]


def held(out_s: float) -> tuple[Finding, Pulled]:
    bench = Pulled(out_s)
    text = OVEN.replace("PATH", bench.path).replace('drops_after = "5 s"', 'drops_after = "2 s"') + ARM
    oven, clock = loads(text, Oven, ConfigError, "bench"), RealClock()
    try:
        found = drills.run("hold", oven, open_oven_io(oven, clock), clock, tell=bench.tell)
        assert bench.hands is not None
        bench.leave.set()
        bench.hands.join()
    finally:
        bench.close()
    return found, bench


@pytest.mark.parametrize("out_s", [1.5, 5.0])
def test_who_plugs_in_before_he_is_asked_gets_no_heat_again(out_s: float) -> None:
    """Seen at a strange board: plugged in after 9 s, ON again for 2 to 16 s, its latch cleared on the way."""
    found, bench = held(out_s)
    assert not [said for said in bench.since() if any(said[2])], bench.since()
    assert bench.since(), "off was sent"
    assert not any(bench.relays.tables["coil"][n] for n in (0, 1))
    assert not found.passed
    assert found.value == pytest.approx(out_s, abs=2.0)
    assert "answered again" in found.line
    assert any("leave it out until you are asked" in line for line in bench.told)
    assert bench.was_on, "the cable was asked for before the light was on"


@pytest.mark.parametrize(("out_s", "silent_s"), [(0.0, 0.0), (60.0, 12.0)])
def test_a_cable_that_stays_in_or_out_is_told_by_how_long_the_line_was_silent(
    out_s: float, silent_s: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another cable was pulled: "held", and the seconds that were counted to the drill's own off passed."""
    monkeypatch.setattr(drills, "HOLD_S", 4.0)
    found, bench = held(out_s)
    assert found.value == pytest.approx(silent_s, abs=2.0)
    assert not found.passed
    assert ("another one" in found.line) is not bool(out_s)
    bench._pass()
    assert not bench.relays.tables["coil"][0]
