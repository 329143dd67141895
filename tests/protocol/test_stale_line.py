"""The line of a simulator that was killed is not followed: its terminal may be a stranger's by now."""

import fcntl
import os
import tty
from collections.abc import Iterator
from pathlib import Path

import pytest

from kilnctl.config.device_keys import Port
from kilnctl.config.simulator_line import gone
from kilnctl.devices.port import open_line
from kilnctl.errors import PortLost
from kilnctl.marks.off_stamp import Outlet
from kilnctl.marks.ovens_in_charge import OvenInCharge

pytestmark = pytest.mark.real_bytes


@pytest.fixture
def line(tmp_path: Path) -> Iterator[tuple[Path, int]]:
    """A link to a pseudo-terminal as a simulator leaves it, with its lock file; and the far end."""
    master, held = os.openpty()
    tty.setraw(held)
    os.set_blocking(master, False)
    link = tmp_path / "line"
    link.symlink_to(os.ttyname(held))
    (tmp_path / "line.simulator").write_text("12345", encoding="ascii")
    yield link, master
    os.close(master)
    os.close(held)


def port(link: Path) -> Port:
    return Port.model_validate({"path": str(link), "baud": 115200})


def test_a_stale_line_is_refused_and_nothing_is_written(line: tuple[Path, int]) -> None:
    link, far_end = line
    assert gone(str(link))
    assert not OvenInCharge("bench-oven", "", "bench-oven.toml", (Outlet(str(link)),)).plugged_in
    with pytest.raises(PortLost, match="the simulator of this line has gone"):
        open_line(port(link), exclusive=True)
    with pytest.raises(BlockingIOError):
        os.read(far_end, 100)


def test_the_line_of_a_simulator_that_lives_is_opened(line: tuple[Path, int], tmp_path: Path) -> None:
    link, far_end = line
    with (tmp_path / "line.simulator").open("r+b") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        assert OvenInCharge("bench-oven", "", "bench-oven.toml", (Outlet(str(link)),)).plugged_in
        opened = open_line(port(link), exclusive=True)
        opened.write(b"!")
        opened.close()
    assert os.read(far_end, 100) == b"!"


def test_a_port_that_no_simulator_made_is_nobodys_stale_line(tmp_path: Path) -> None:
    assert not gone(str(tmp_path / "ttyUSB0"))
    assert not gone("/dev/null")
