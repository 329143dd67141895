"""Permission is the controller's, and a drill obeys off: judged on the relay's truth, over real bytes.

The oven file does not say that it is simulated, and the board behind it does not either: nothing is spared.
"""

import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from faults.live_heat import until
from shop import Shop
from typist import Typist

from kilnctl.cli.simulating import Running, start
from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.link.client import LinkClient
from kilnctl.link.snapshot import Answer, Command
from kilnctl.logbook.book import Logbook
from kilnctl.runtime import off_stamp, step_results
from kilnctl.runtime.spawn import ensure_running
from kilnctl.runtime.steps import find_step

pytestmark = pytest.mark.real_bytes
HOLD = 'name = "hold"\n[[segment]]\nkind = "soak"\nat = "200 C"\ntime = "1 h"\npurpose = "temper"\n'


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Shop]:
    shop = Shop(tmp_path, 1)
    text = shop.oven.read_text(encoding="utf-8").replace("simulated = true\n", "")
    shop.oven.write_text(text, encoding="utf-8")
    (tmp_path / "home" / "ovens").mkdir(parents=True)
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path / "home"))
    yield shop
    shop.close()


@pytest.fixture
def sim(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> Iterator[Running]:
    monkeypatch.setattr("simulator.registers.PLANT_MARK", 0)  # as a real board, it does not say what it is
    running = start(load_oven(shop.oven), link=shop.link, speed=1)
    yield running
    running.close()


def relay(sim: Running) -> bool:
    return bool(sim.board.read("coil", 0))


def asked(shop: Shop, **more: Any) -> dict[str, Any]:
    """Return a start as any program of this user could write it."""
    text = shop.oven.read_text(encoding="utf-8")
    plain = {"oven": text, "oven_name": "oven.toml", "profile": HOLD, "profile_name": "hold"}
    return {**plain, "time_scale": 1.0, **more}


def told(args: dict[str, Any], word: str = "run") -> Answer:
    ensure_running()
    with LinkClient(home.socket_path()) as client:
        return client.ask(Command(word, "tempering-oven", args, "a program"), 20.0)


FORGED: tuple[dict[str, Any], ...] = (
    {"unattended": True},
    {"unattended": False},
    {"unattended": True, "confirmed": ["the room"], "acknowledged": ["all of it"], "presence": "own screen"},
    {"acknowledged": [], "challenge": "0" * 32, "presence": "lamp", "off_stamp": {}},
)


@pytest.mark.parametrize("more", FORGED)
def test_a_message_on_the_socket_does_not_heat_what_was_never_commissioned(
    shop: Shop, sim: Running, more: dict[str, Any]
) -> None:
    answer = told(asked(shop, **more))
    came_on = until(lambda: relay(sim), 3.0)
    assert (answer.accepted, came_on) == (False, False), answer
    assert "Traceback" not in (shop.folder / "home" / "controller.log").read_text(encoding="utf-8")


@pytest.fixture
def simulated(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Shop]:
    shop = Shop(tmp_path, 1)
    own = tmp_path / "home" / "ovens"
    own.mkdir(parents=True)
    shop.oven = shop.oven.rename(own / "tempering-oven.toml")
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path / "home"))
    yield shop
    shop.close()


@pytest.fixture
def plant(simulated: Shop) -> Iterator[Running]:
    running = start(load_oven(simulated.oven), link=simulated.link, speed=1)
    yield running
    running.close()


def passed_before(shop: Shop, *names: str) -> None:
    oven = load_oven(shop.oven)
    with Logbook(home.logbook_path()) as book:
        for name in names:
            step = find_step(name)
            step_results.keep(
                book, oven, shop.oven.read_text(), step, True, time.time(), value=0.5 if step.unit else None
            )


@pytest.fixture
def pulse(simulated: Shop, plant: Running) -> Iterator[Typist]:
    """A heater pulse of the set-up, as a maker starts it, with the relay on."""
    passed_before(simulated, "dead-man test", "cold check")
    typist = Typist(
        simulated.command("commission", str(simulated.oven), "--step", "heater pulse"), simulated.env
    )
    going = threading.Thread(target=lambda: typist.go({}, {}, 240.0), daemon=True)
    going.start()
    assert until(lambda: relay(plant), 60.0), typist.text[-2000:]
    yield typist
    typist.process.kill()
    going.join(10.0)
    typist.close()


def stays_off(sim: Running, real_s: float) -> bool:
    return not until(lambda: relay(sim), real_s)


def test_off_ends_a_drill_and_it_stays_off(simulated: Shop, plant: Running, pulse: Typist) -> None:
    off_stamp.leave(home.home(), None, [], "a test")
    done = simulated.run("off")
    assert (done.returncode, relay(plant)) == (0, False), done.stdout + done.stderr
    assert stays_off(plant, 4.0), "the drill switched the heat on again after an off that was read back"
    assert until(lambda: pulse.process.poll() is not None or "NOT passed" in pulse.text, 10.0), pulse.text


def test_a_drill_whose_program_is_killed_is_cut(simulated: Shop, plant: Running, pulse: Typist) -> None:
    pulse.process.kill()
    assert until(lambda: not relay(plant), 5.0)
    assert stays_off(plant, 4.0)
