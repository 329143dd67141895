"""The bus check at a panel that keeps its set-point without power, over real bytes.

A plain script on a pseudo-terminal, by an invented sheet: holding register 0 is the set-point, kept without
power; input 0 the temperature. It comes up in stand-by, so that no set-point of it heats anything.
"""

import contextlib
from collections.abc import Iterator

import pytest
from foreign.wires import OnAPty, Unit, rtu
from protocol.parked_panel import FILE

from kilnctl.clock import RealClock
from kilnctl.commissioning.bus_check import check_bus
from kilnctl.config.oven import Oven
from kilnctl.devices.probing.diagnoses import Diagnosis
from kilnctl.devices.probing.probe import Probe
from kilnctl.errors import ConfigError
from kilnctl.tomlfile import loads

pytestmark = pytest.mark.real_bytes
DEAD_MAN = FILE[FILE.index("[dead_man]") : FILE.index("[signal.process]")]
NO_MODE = FILE.replace(DEAD_MAN, "").replace(FILE[FILE.index("back =") :], "")


class Panel(Unit):
    """`least` is a lowest set-point of its own; `boots` what it comes up with whatever was written."""

    def __init__(self, point: int, least: int = 0, boots: int | None = None) -> None:
        super().__init__(holding={0: point, 1: 0}, input={0: 210})
        self.powered, self.least, self.boots = True, least, boots
        self.wrote = lambda *_: self.tables["holding"].update({0: max(least, self.tables["holding"][0])})

    def supply(self, on: bool) -> None:
        self.powered = on
        if self.boots is not None:
            self.tables["holding"][0] = self.boots


class Hands:
    """Somebody who switches the supply as asked and answers yes."""

    def __init__(self, panel: Panel) -> None:
        self.panel, self.said = panel, []

    def say(self, line: str) -> None:
        self.said.append(line)

    def key(self, question: str) -> bool:
        if "supply off" in question:
            self.panel.supply(False)
        if "supply on" in question:
            self.panel.supply(True)
        return True


@contextlib.contextmanager
def served(panel: Panel) -> Iterator[str]:
    talk = rtu({1: panel})
    line = OnAPty(lambda came: talk(came) if panel.powered else (len(came), b""))
    try:
        yield line.path
    finally:
        line.close()


def checked(panel: Panel) -> tuple[list[Diagnosis], list[str]]:
    with served(panel) as path:
        oven = loads(NO_MODE.replace("PATH", path), Oven, ConfigError, "panel.toml")
        probe, hands = Probe(oven, RealClock()), Hands(panel)
        try:
            return check_bus(probe, hands, range(1, 3)), hands.said
        finally:
            probe.close()


def test_a_set_point_that_nobody_parked_yet_is_parked_before_the_supply_goes() -> None:
    """The maker's own 20 was "heats by itself. Change that in the instrument", of a panel in stand-by."""
    panel = Panel(20)
    found, said = checked(panel)
    assert all(one.good for one in found), [one.say for one in found if not one.good]
    assert any("read 20" in line and "parked" in line for line in said)
    assert panel.tables["holding"][0] == 0


@pytest.mark.parametrize("panel", [Panel(20, least=20), Panel(0, boots=20)], ids=["lowest", "its own"])
def test_one_that_comes_up_with_another_than_it_was_parked_at_is_told_without_a_heat_that_nobody_read(
    panel: Panel,
) -> None:
    found, _ = checked(panel)
    wrong = next(one.say for one in found if not one.good)
    assert "set-point 20" in wrong
    assert "heats by itself:" not in wrong
    assert "back of output.heater" in wrong
