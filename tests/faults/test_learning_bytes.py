"""Learning over real bytes with something wrong: it stops with the heat off, says why, stores nothing."""

import subprocess
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from shop import SPEED, Shop

from kilnctl.cli.oven.simulate import Simulation, start
from kilnctl.logbook.entries import LearnedOven, newest
from kilnctl.logbook.readers import Reader
from simulator.boards.board import Board
from simulator.boards.faults import parse_fault

pytestmark = [pytest.mark.real_bytes, pytest.mark.slow]
LONGEST_S = 120.0


class Bench(Shop):
    """A shop whose simulator runs in this process, so that a test can reach into it at the right moment."""

    def __init__(self, folder: Path, more: str = "") -> None:
        super().__init__(folder)
        self.oven.write_text(self.oven.read_text(encoding="utf-8") + more, encoding="utf-8")
        self.sim: Simulation = start(str(self.oven), link=self.link, speed=SPEED)

    def fault(self, text: str) -> None:
        self.sim.board.begin(parse_fault(f"{text}@0s" if ":" not in text else text.replace(":", "@0s:")))

    def tune(self, meanwhile: Callable[[Board], object] | None = None) -> tuple[int, str]:
        """Start learning; once heat flows do something to the oven; return exit code and words."""
        words = self.command("tune", str(self.oven), "--time-scale", str(SPEED), "--yes")
        going = subprocess.Popen(
            words, env=self.env, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )
        give_up_s = time.monotonic() + LONGEST_S
        while meanwhile is not None and not self.sim.board.heater:
            assert going.poll() is None, "it ended before any heat"
            assert time.monotonic() < give_up_s, "no heat came"
            time.sleep(0.02)
        if meanwhile is not None:
            meanwhile(self.sim.board)
        said, _ = going.communicate(timeout=LONGEST_S)
        return going.returncode, said

    def learned(self) -> bool:
        path = self.folder / "home" / "logbook.sqlite"
        if not path.is_file():
            return False
        with Reader(path) as reader:
            return newest(reader, LearnedOven, "tempering-oven") is not None

    def close(self) -> None:
        super().close()
        self.sim.close()


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    made = Bench(tmp_path)
    yield made
    made.close()


def refused(bench: Bench, code: int, said: str, exit_code: int, why: str) -> None:
    assert code == exit_code, said
    assert why in said
    assert not bench.sim.board.heater
    assert not bench.sim.board.contactor
    assert not bench.learned()
    assert "Traceback" not in said


def test_a_sensor_that_comes_off_in_the_middle(bench: Bench) -> None:
    code, said = bench.tune(lambda _: bench.fault("sensor-open"))
    refused(bench, code, said, 4, "open")
    assert "nothing is stored" in said


def test_a_door_that_is_opened_in_the_middle(bench: Bench) -> None:
    code, said = bench.tune(lambda board: board.open_door(True))
    refused(bench, code, said, 5, "the door was opened; learning needs an undisturbed heat")
    assert "nothing is stored" in said


@pytest.mark.on_demand
def test_an_element_that_never_becomes_live(bench: Bench) -> None:
    bench.fault("relay-open")
    code, said = bench.tune()
    refused(bench, code, said, 4, "the element is not live")


@pytest.mark.on_demand
@pytest.mark.parametrize("share", [1.0, 0.85], ids=["no heat", "far less power than the file's build has"])
def test_no_heat_worth_the_name_although_the_element_is_live(bench: Bench, share: float) -> None:
    bench.fault(f"element-dead:{share}")
    code, said = bench.tune()
    refused(bench, code, said, 4, "no heat")


@pytest.mark.on_demand
def test_an_oven_that_is_still_hot_from_the_heat_before(bench: Bench) -> None:
    assert bench.heat("--soak", "24C", "--for", "30s")[0] == 0
    plant = bench.sim.board.plant
    plant.element_c = plant.air_c = plant.wall.face_c = plant.wall.t1 = plant.sensor.sheath_c = 90.0
    plant.sensor.junction_c = 90.0
    code, said = bench.tune()
    refused(bench, code, said, 5, "learning starts from a cold oven")


@pytest.mark.on_demand
def test_an_oven_that_reads_hot_and_was_not_heated(bench: Bench) -> None:
    bench.fault("sensor-offset:60")
    code, said = bench.tune()
    refused(bench, code, said, 3, "a cold oven reads")


CURRENT = """
[signal.current_a]
device = "board"
table = "input"
register = 7
format = "uint16"
scale = 0.01
low = 0
high = 100
"""


@pytest.mark.on_demand
def test_a_wrong_power_in_the_file_where_the_current_is_measured(tmp_path: Path) -> None:
    """The simulator was started on the true file, 1200 W."""
    bench = Bench(tmp_path, CURRENT)
    try:
        text = bench.oven.read_text(encoding="utf-8").replace('power = "1200 W"', 'power = "600 W"')
        bench.oven.write_text(text, encoding="utf-8")
        code, said = bench.tune()
        refused(bench, code, said, 5, "the oven file says 600 W")
        assert "nothing is stored" in said
    finally:
        bench.close()
