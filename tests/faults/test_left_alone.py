"""A live oven, from its first set-up to a temper that is left alone: real bytes, real time, about an hour.

The oven file does not say that it is simulated, so nothing is spared: every question, the dead-man's
self-test, the lines that are acknowledged. What plays the oven is the simulator at single speed.
"""

import os
import signal
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from faults.lamp import LampReader, lamp_of
from faults.live_heat import until
from faults.test_set_up_walk import ANSWERS, at_the_oven, steps_of, walk
from faults.test_taking_up import TEMPER
from shop import Shop
from typist import Typist

from kilnctl.cli.oven.simulate import Simulation
from kilnctl.logbook.readers import Reader
from kilnctl.marks import latch

pytestmark = [pytest.mark.real_bytes, pytest.mark.on_demand]


@pytest.fixture
def lamp(sim: Simulation) -> Iterator[LampReader]:
    reader = lamp_of(sim)
    yield reader
    reader.close()


def run(shop: Shop, lamp: LampReader, *words: str) -> tuple[int, str]:
    """Run a heat at a terminal, with a key for every question; return its exit code and what was said.

    The terminal counts as far, so that the lamp's numbers are asked for, and read.
    """
    typist = Typist(shop.command("run", *words, "--json"), shop.env)
    try:
        return typist.go({"numbers": lamp.numbers}, {}, 3600.0), typist.text
    finally:
        typist.close()


def soaked_s(shop: Shop) -> float:
    with Reader(shop.folder / "home" / "logbook.sqlite") as reader:
        newest = reader.newest(1) if any(row.run == 1 for row in reader.runs()) else None
    return (newest.soak_oven_s or 0.0) if newest else 0.0


def cut_in_the_soak(shop: Shop) -> threading.Thread:
    """Kill supervisor and controller, as a power cut does, once the first run has soaked for 30 s."""

    def cut() -> None:
        assert until(lambda: soaked_s(shop) >= 30.0, 3600.0)
        supervisor = int((shop.folder / "home" / "supervisor.lock").read_text())
        children = Path(f"/proc/{supervisor}/task/{supervisor}/children").read_text().split()
        for process in (supervisor, *map(int, children)):
            os.kill(process, signal.SIGKILL)

    thread = threading.Thread(target=cut)
    thread.start()
    return thread


def test_a_temper_is_left_alone_once_everything_was_shown(
    shop: Shop, sim: Simulation, lamp: LampReader
) -> None:
    answers = {**ANSWERS, "numbers": lamp.numbers}
    job = shop.folder / "temper.toml"
    job.write_text(TEMPER, encoding="utf-8")
    heat = (str(job), "--oven", str(shop.oven))
    code, said = run(shop, lamp, *heat)
    assert (code, "caution" in said, "dead-man test" in said) == (3, True, True), said
    text = walk(shop, answers, at_the_oven(sim), timeout_s=3600.0)
    still_open = {name for name, step in steps_of(shop).items() if not step.passed}
    assert still_open <= {"first temper", "overshoot check"}, text
    code, said = run(shop, lamp, *heat, "--unattended")
    assert code == 3, said
    assert "power drill" in said
    assert "first temper" in said

    cutting = cut_in_the_soak(shop)
    code, said = run(shop, lamp, *heat)  # attended; its power is cut
    cutting.join()
    assert code not in (0, None), said
    found = latch.read("tempering-oven")
    assert found is not None
    assert (found.state, found.run) == ("armed", 1)
    time.sleep(90.0)
    code, said = run(shop, lamp, "--from", "1")
    assert code == 0, said
    assert "it was interrupted for" in said

    shop.run("off")  # the controller watches an oven until it is cold
    walk(shop, {**answers, "umber of": "2"}, at_the_oven(sim), timeout_s=600.0)
    done = steps_of(shop)
    assert done["power drill"].passed
    assert "it was interrupted for" in done["power drill"].note
    code, said = run(shop, lamp, *heat, "--unattended", "--resume-within", "15min")
    assert code == 0, said
    assert "then the dead-man" in said
    with Reader(shop.folder / "home" / "logbook.sqlite") as reader:
        info = reader.run(3)
        header = reader.header(3)
    assert (info.outcome, header.unattended, header.simulated) == ("complete", True, False)
    assert header.commissioning
    print(said)
