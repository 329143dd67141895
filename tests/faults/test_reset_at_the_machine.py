"""A latch goes only for somebody at the machine: over real bytes, with the lamp of a simulated board."""

import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from kilnctl.cli.oven.simulate import Simulation, start
from kilnctl.cli.terminal import presence_prompt
from kilnctl.clock import RealClock
from kilnctl.config import home
from kilnctl.config.home import bundled
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import OvenIO
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.errors import ConfigError, RunRefused
from kilnctl.logbook.entries import LatchChange, read
from kilnctl.logbook.readers import Reader
from kilnctl.marks import latch
from kilnctl.permits import presence
from kilnctl.permits.latch_reset import reset_latch
from kilnctl.readings import Trip
from kilnctl.tomlfile import loads

pytestmark = [pytest.mark.real_bytes, pytest.mark.slow]
SPEED = 20
NOTE = "lead was loose, tightened"


@pytest.fixture
def oven(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Oven:
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path / "home"))
    text = (bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
    text = text.replace("lines/tempering-oven", str(tmp_path / "port"))
    return loads(text, Oven, ConfigError, "oven.toml")


@pytest.fixture
def sim(oven: Oven, tmp_path: Path) -> Iterator[Simulation]:
    running = start(oven, link=tmp_path / "port", speed=SPEED)
    yield running
    running.close()


def test_a_reset_from_afar_is_refused_written_down_and_leaves_the_latch(oven: Oven, sim: Simulation) -> None:
    clock = RealClock(SPEED)
    one = latch.Latch(oven.name, clock.utc)
    one.arm()
    one.trip(Trip("sensor_lost", "the sensor is open", 0.0))

    def afar(_oven_io: OvenIO) -> None:
        raise RunRefused("not what the lamp told")

    with pytest.raises(RunRefused, match="not what the lamp told"):
        reset_latch(oven, NOTE, False, clock, SPEED, str, afar)
    assert latch.read(oven.name) is not None
    released = reset_latch(oven, NOTE, False, clock, SPEED, str, lambda _oven_io: None)
    assert released.kind == "sensor_lost"
    assert latch.read(oven.name) is None
    with Reader(home.logbook_path()) as reader:
        told = [(change.change, change.note) for change in read(reader, LatchChange)]
    assert told == [("reset refused", f"{NOTE} (not what the lamp told)"), ("reset", NOTE)]


@pytest.mark.on_demand
def test_who_looks_at_the_boards_lamp_can_tell_its_numbers(
    oven: Oven, sim: Simulation, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The lamp of the simulated board is watched as an eye would, not by what was sent to it."""
    flashes: list[bool] = []
    over = threading.Event()

    def eye() -> None:
        while not over.wait(0.01):
            flashes.append(bool(sim.board.lamp))

    looking = threading.Thread(target=eye)
    looking.start()
    monkeypatch.setattr(presence, "here_now", lambda: False)
    monkeypatch.setattr(
        "builtins.input", lambda asked: "" if "Press Enter" in asked else over.set() or seen(flashes)
    )
    live = oven.model_copy(update={"simulated": False})
    oven_io = open_oven_io(oven, RealClock(SPEED), SPEED)
    try:
        oven_io.connect()
        presence_prompt.prove_with(live, oven_io, RealClock())
    finally:
        over.set()
        looking.join()
        oven_io.close()
    assert not sim.board.heater
    assert not sim.board.lamp


def seen(flashes: list[bool]) -> str:
    """Count the flashes between the long pauses; the one long call at first is none."""
    runs: list[tuple[bool, int]] = []
    for on in flashes:
        if runs and runs[-1][0] is on:
            runs[-1] = (on, runs[-1][1] + 1)
        else:
            runs.append((on, 1))
    numbers, count = [], 0
    for on, length in runs:
        if on:
            count += length < 100
        elif length > 100 and count:
            numbers.append(count)
            count = 0
    return " ".join(map(str, [*numbers, *([count] if count else [])]))
