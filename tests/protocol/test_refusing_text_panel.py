"""A text panel that answers ERR to what it does not take: refused, said so, never a success. Real bytes."""

from collections.abc import Iterator

import pytest
from foreign.wires import OnAPty, lines

from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.errors import ConfigError, DeviceRefused
from kilnctl.tomlfile import loads

pytestmark = pytest.mark.real_bytes
FILE = """
name = "text-panel"
use = "tempering"
build = "leaky"
power = "1000 W"
limit = "200 C"
isolator = "red switch"
switching = { kind = "solid-state" }
port.p = { path = "PATH", timeout = "0.2 s" }
[device.panel]
kind = "text"
port = "p"
prompt = "PROMPT"
ask = [{ send = "S", reply = "T={process} M={mode}" }]
tell.point = { send = "P {value}", reply = "P={value}" }
tell.mode = { send = "M {value}", reply = "M={value}" }
[dead_man]
device = "panel"
field = "mode"
write = 1
drops_after = "2 s"
zero_drops = true
[signal.process]
device = "panel"
field = "process"
unit = "C"
low = "-20 C"
high = "400 C"
[output.heater]
kind = "set-point"
device = "panel"
field = "point"
unit = "C"
park = "0 C"
link_loss = "drops"
back = { device = "panel", field = "mode" }
"""


class Panel:
    """Set-points up to its own limit; above it says `no`. Where it is `deaf` for modes it refuses those."""

    def __init__(self, no: str, prompt: str = "") -> None:
        self.no, self.prompt, self.limit, self.point, self.mode, self.deaf = no, prompt, 120, 0, 0, False
        self.parks = True
        self.line = OnAPty(lines(lambda line: f"{self.said(line)}\n{prompt}"))

    def said(self, line: str) -> str:
        word, _, value = line.partition(" ")
        if word == "S":
            return f"T=21.0 M={self.mode}"
        number = int(value)
        if word == "P" and (number > self.limit or not (number or self.parks)):
            return self.no
        if word == "M" and self.deaf and number:
            return self.no
        if word == "P":
            self.point = number
        else:
            self.mode = number
        return f"{word}={value}"


@pytest.fixture(
    params=[("ERR", ""), ("ERROR 3: out of range", ""), ("?P", "> "), ("NAK", ""), ("invalid value", "")]
)
def panel(request) -> Iterator[Panel]:
    made = Panel(*request.param)
    yield made
    made.line.close()


@pytest.fixture
def oven_io(panel: Panel):
    text = FILE.replace("PATH", panel.line.path).replace("PROMPT", panel.prompt)
    made = open_oven_io(loads(text, Oven, ConfigError, "text-panel.toml"), RealClock())
    yield made
    made.close()


def test_a_set_point_that_is_answered_with_an_error_is_refused_and_no_heat(panel: Panel, oven_io) -> None:
    oven_io.connect()
    for tick in range(10):
        scan = oven_io.scan(float(tick))
        assert scan.process.good, scan.process.why
        assert not oven_io.drive(HeatRequest(True, 1.0, 150.0))
        assert panel.no in oven_io.refused
        assert "highest set-point" in oven_io.refused
        assert "Leave it there" in oven_io.refused
        oven_io.feed()  # so that the mode, which `back` shows, reads on
    assert panel.point == 0
    assert oven_io.scan(11.0).link.bad_fraction == 0.0, "it has answered each time"
    assert oven_io.drive(HeatRequest(True, 1.0, 100.0)), oven_io.why
    assert panel.point == 100


def test_a_mode_that_is_refused_is_said_as_refused(panel: Panel, oven_io) -> None:
    oven_io.connect()
    oven_io.scan(0.0)
    panel.deaf = True
    assert not oven_io.drive(HeatRequest(True, 1.0, 100.0))
    assert panel.no in oven_io.refused


def test_a_panel_that_refuses_its_off_heats_nothing(panel: Panel, oven_io) -> None:
    panel.parks, panel.mode = False, 1
    panel.point = 90
    panel.deaf = True
    with pytest.raises(DeviceRefused, match="cannot be switched off"):
        oven_io.connect()


def test_an_error_in_place_of_a_reading_is_no_reading(panel: Panel, oven_io) -> None:
    """There it may be a broken sensor, a late answer, anything: it was told nothing to refuse."""
    oven_io.connect()
    panel.said = lambda line: panel.no  # type: ignore[method-assign]
    assert not oven_io.scan(0.0).process.good
