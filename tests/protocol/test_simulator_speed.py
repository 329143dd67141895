"""The speed of a simulator is typed once: whoever heats on it asks it, over real bytes."""

from pathlib import Path

import pytest

from kilnctl.cli.heat.simulated_pace import speed_of
from kilnctl.cli.oven.simulate import start
from kilnctl.clock import RealClock
from kilnctl.config.home import bundled
from kilnctl.config.oven import Oven, load_oven
from kilnctl.devices.identity import simulator_speed
from kilnctl.devices.port import open_line


def oven_at(link: Path, **changed: object) -> Oven:
    oven = load_oven(bundled("ovens") / "tempering-oven.toml")
    port = oven.port["bus"].model_copy(update={"path": str(link)})
    return oven.model_copy(update={"port": {"bus": port}, **changed})


@pytest.mark.real_bytes
@pytest.mark.parametrize("speed", [1, 7, 20])
def test_the_simulator_says_how_fast_it_runs(speed: int, tmp_path: Path) -> None:
    oven = oven_at(tmp_path / "line")
    running = start(oven, speed=speed)
    try:
        assert simulator_speed(oven, RealClock()) == speed
        real = oven_at(tmp_path / "line", simulated=False)
        assert simulator_speed(real, RealClock()) == 1.0
    finally:
        running.close()


def test_where_nobody_is_it_is_real_time(tmp_path: Path) -> None:
    assert simulator_speed(oven_at(tmp_path / "line"), RealClock()) == 1.0


@pytest.mark.real_bytes
def test_also_while_somebody_else_has_its_line(tmp_path: Path) -> None:
    """A controller watches the hot oven after its heat and keeps the port: the next run was told 1 x."""
    oven = oven_at(tmp_path / "line")
    running = start(oven, speed=7)
    watching = open_line(oven.port["bus"], exclusive=True)
    try:
        assert speed_of(oven) == 7
    finally:
        watching.close()
        running.close()
    assert speed_of(oven) == 1.0
