"""Off where no controller answers: an oven that cannot be read is said, and never called off."""

from pathlib import Path

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.marks.ovens_in_charge import OvenInCharge
from kilnctl.processes.off_at_ports import OffAtPorts


@pytest.mark.parametrize("how", ["alone", "beside"])
def test_an_oven_that_cannot_be_read_is_said_and_is_not_off(how: str, own_home: Path) -> None:
    gone = str(own_home / "gone.toml")
    said: list[str] = []
    ports = OffAtPorts({"left": OvenInCharge("left", "", gone)}, VirtualClock(), said.append)
    sent = ports.alone(["left"], []) if how == "alone" else ports.beside(["left"])
    assert not sent.get("left")
    (line,) = said
    assert line.startswith(gone)
    assert line.endswith("this oven may be hot")
