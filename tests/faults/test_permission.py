"""Permission is the controller's, and a drill obeys off: judged on the relay's truth, over real bytes.

The oven file does not say that it is simulated, and the board behind it does not either: nothing is spared.
"""

import contextlib
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from faults.lamp import LampReader, lamp_of
from faults.live_heat import until
from shop import Shop
from typist import Typist

from kilnctl.cli.oven.simulate import Simulation, start
from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.errors import ProfileError, RecordError
from kilnctl.link.client import LinkClient
from kilnctl.link.snapshot import Answer, Command
from kilnctl.logbook.entries import CommissioningStep, read
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.marks.off_stamp import stamps_now
from kilnctl.permits import step_results
from kilnctl.permits.setup_steps import STEPS, find_step
from kilnctl.processes.spawn import ensure_controller
from kilnctl.profile.message import data_of
from kilnctl.profile.segments import Profile
from kilnctl.tomlfile import loads

pytestmark = [pytest.mark.real_bytes, pytest.mark.begins_first]
HOLD = 'name = "hold"\n[[segment]]\nkind = "soak"\nat = "200 C"\ntime = "1 h"\npurpose = "temper"\n'


def relay(sim: Simulation) -> bool:
    return bool(sim.board.read("coil", 0))


def asked(shop: Shop, **more: Any) -> dict[str, Any]:
    """Return a start as any program of this user could write it."""
    text = shop.oven.read_text(encoding="utf-8")
    plain = {
        "oven": text,
        "oven_name": "oven.toml",
        "off_stamp": stamps_now(home.home()),
        "profile": data_of(loads(HOLD, Profile, ProfileError, "hold")),
    }
    return {**plain, "time_scale": 1.0, **more}


def told(args: dict[str, Any], word: str = "run") -> Answer:
    ensure_controller()
    with LinkClient(home.socket_path()) as client:
        return client.ask(Command(word, "tempering-oven", args, "a program"), 20.0)


def ticked(run: int) -> bool:
    """Return whether a heat of this number has begun and was recorded."""
    with contextlib.suppress(RecordError), Reader(home.logbook_path()) as reader:
        return reader.newest(run) is not None
    return False


FORGED: tuple[dict[str, Any], ...] = (
    {"unattended": True},
    {"unattended": False},
    {"unattended": True, "confirmed": ["the room"], "acknowledged": ["all of it"], "presence": "own screen"},
    {"acknowledged": [], "challenge": "0" * 32, "presence": "lamp", "off_stamp": {}},
)


def test_no_message_on_the_socket_heats_what_was_never_commissioned(shop: Shop, sim: Simulation) -> None:
    """Each is refused by itself; one that was taken all the same would show in the time after the last."""
    for more in FORGED:
        answer = told(asked(shop, **more))
        assert not answer.accepted, (more, answer)
        assert not relay(sim), (more, answer)
        assert "dead-man test: never done" in answer.why  # not only for a field that it left out
    assert stays_off(sim, 3.0)
    assert "Traceback" not in (shop.folder / "home" / "controller.log").read_text(encoding="utf-8")


@pytest.fixture
def simulated(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Shop]:
    shop = Shop(tmp_path, 4)
    own = tmp_path / "home" / "ovens"
    own.mkdir(parents=True)
    shop.oven = shop.oven.rename(own / "tempering-oven.toml")
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path / "home"))
    yield shop
    shop.close()


@pytest.fixture
def plant(simulated: Shop) -> Iterator[Simulation]:
    running = start(load_oven(simulated.oven), link=simulated.link, speed=4)
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


@pytest.mark.parametrize(("goal", "heats"), [("100 C", True), ("40 C", False)])
def test_no_start_puts_a_part_into_an_oven_that_is_hotter_than_its_first_step(
    simulated: Shop, plant: Simulation, goal: str, heats: bool
) -> None:
    """Asked by the process that heats: a screen that skipped its own look changes nothing."""
    set_up(simulated)
    plant.do("fault sensor-offset:47", str)  # it reads 68 C, as an oven does that has been hot
    profile = data_of(loads(HOLD.replace("200 C", goal), Profile, ProfileError, "hold"))
    answer = told(asked(simulated, profile=profile, time_scale=4.0))
    # where it may heat, a warm oven that was never learned is watched first: the relay comes on later
    assert answer.accepted is heats, answer
    assert heats or not until(lambda: relay(plant), 5.0), answer
    assert ("keep the part out" in answer.why) is not heats, answer
    simulated.run("off")


@pytest.fixture
def pulse(simulated: Shop, plant: Simulation) -> Iterator[Typist]:
    """A heater pulse of the set-up, as a maker starts it, with the relay on."""
    passed_before(simulated, "dead-man test", "cold check")
    typist = Typist(
        simulated.command("commission", str(simulated.oven), "--step", "heater pulse", "--time-scale", "4"),
        simulated.env,
    )
    going = threading.Thread(target=lambda: typist.go({}, {}, 240.0), daemon=True)
    going.start()
    assert until(lambda: relay(plant), 60.0), typist.text[-2000:]
    yield typist
    typist.process.kill()
    going.join(10.0)
    typist.close()


def stays_off(sim: Simulation, real_s: float) -> bool:
    return not until(lambda: relay(sim), real_s)


@pytest.mark.on_demand  # the histories do it by name, on a board of their own
def test_off_ends_a_drill_and_it_stays_off(simulated: Shop, plant: Simulation, pulse: Typist) -> None:
    done = simulated.run("off")
    assert (done.returncode, relay(plant)) == (0, False), done.stdout + done.stderr
    assert stays_off(plant, 4.0), "the drill switched the heat on again after an off that was read back"
    assert until(lambda: pulse.process.poll() is not None or "NOT passed" in pulse.text, 10.0), pulse.text


def test_a_drill_whose_program_is_killed_is_cut(simulated: Shop, plant: Simulation, pulse: Typist) -> None:
    pulse.process.kill()
    assert until(lambda: not relay(plant), 5.0)
    assert stays_off(plant, 4.0)


# --- what a person at the oven may do, at a real terminal that counts as far: the lamp proves him


@pytest.fixture
def lamp(sim: Simulation) -> Iterator[LampReader]:
    reader = lamp_of(sim)
    yield reader
    reader.close()


SOUND = {"dead-man test": 8.0, "heater pulse": 20.0, "limit test": 150.0}
LAMP_S = 240.0  # numbers that a busy machine has blurred are told anew, a quarter of a minute each time
HEAT = ("--soak", "100C", "--for", "1h")


def set_up(shop: Shop, *but: str) -> None:
    """Store every step as passed on this very oven file, except some."""
    oven, text = load_oven(shop.oven), shop.oven.read_text(encoding="utf-8")
    with Logbook(home.logbook_path()) as book:
        for step in STEPS:
            if step.name not in but:
                value = SOUND.get(step.name, 0.5 if step.unit else None)
                step_results.keep(book, oven, text, step, True, time.time(), value=value)


class At:
    """A command at a terminal whose questions are answered in a thread."""

    def __init__(self, shop: Shop, lamp: LampReader, *words: str, **answers: str) -> None:
        self.typist = Typist(shop.command(*words, "--oven", str(shop.oven), "--json"), shop.env)
        said = {"numbers": lamp.numbers, **answers}
        self._going = threading.Thread(target=lambda: self.typist.go(said, {}, LAMP_S), daemon=True)
        self._going.start()

    @property
    def ended(self) -> bool:
        return self.typist.process.poll() is not None

    def close(self) -> str:
        self.typist.process.kill()
        self._going.join(10.0)
        self.typist.close()
        return self.typist.text


def test_a_person_with_keys_and_the_lamps_numbers_heats(
    shop: Shop, sim: Simulation, lamp: LampReader
) -> None:
    set_up(shop, "known temperature", "reference check")
    at = At(shop, lamp, "run", *HEAT)
    hot = until(lambda: relay(sim) or at.ended, LAMP_S) and relay(sim)
    shop.run("off")
    said = at.close()
    assert hot, said
    assert "nothing proves the sensor's type" in said
    assert stays_off(sim, 3.0)


def test_an_oven_that_is_watched_while_it_cools_may_be_heated_again(
    shop: Shop, sim: Simulation, lamp: LampReader
) -> None:
    """A stranger's second heat was refused: the lamp was to be asked at a port that the watch still held."""
    set_up(shop, "known temperature", "reference check")
    sim.do("fault sensor-offset:47", str)  # it reads 68 C, too hot to be left
    for run in (1, 2):
        at = At(shop, lamp, "run", *HEAT)
        # a warm oven that was never learned is watched first: that its relay comes on is the control's
        begun = until(lambda at=at, run=run: ticked(run) or at.ended, LAMP_S) and ticked(run)
        shop.run("off")
        said = at.close()
        assert begun, said
        assert "hot" in shop.run("status").stdout


def test_a_wrong_number_or_a_key_too_few_heats_nothing(shop: Shop, sim: Simulation, lamp: LampReader) -> None:
    set_up(shop)
    for answers in ({"numbers": "9 9 9"}, {"is true": "n"}):
        at = At(shop, lamp, "run", *HEAT, **answers)
        assert until(lambda at=at: at.ended, LAMP_S)
        said = at.close()
        assert at.typist.process.returncode == 3, said
        assert not relay(sim)


def test_alone_in_the_house_the_dead_man_is_tried_by_the_process_that_heats(
    shop: Shop, sim: Simulation, lamp: LampReader
) -> None:
    set_up(shop)
    at = At(shop, lamp, "run", *HEAT, "--unattended")
    assert until(lambda: relay(sim) or at.ended, LAMP_S)
    assert relay(sim), at.close()
    assert until(lambda: not relay(sim), LAMP_S), "starved of its word the board drops the output"
    assert until(lambda: relay(sim) or at.ended, LAMP_S)
    on = relay(sim)
    shop.run("off")
    said = at.close()
    assert on, said
    assert "Never asleep, never away" in said
    with Reader(home.logbook_path()) as reader:
        kept = [s for s in read(reader, CommissioningStep) if s.note.startswith("self-test")]
    assert [s.passed for s in kept] == [True]


@pytest.mark.on_demand
def test_a_board_that_holds_is_found_before_it_is_left_alone(
    shop: Shop, sim: Simulation, lamp: LampReader
) -> None:
    set_up(shop)
    sim.do("fault dead-man-stuck", str)
    at = At(shop, lamp, "run", *HEAT, "--unattended")
    assert until(lambda: at.ended, 120.0)
    said = at.close()
    assert "failed its self-test" in said, said
    assert not relay(sim)
    assert stays_off(sim, 3.0)


@pytest.mark.on_demand
def test_off_during_the_self_test_ends_it(shop: Shop, sim: Simulation, lamp: LampReader) -> None:
    set_up(shop)
    at = At(shop, lamp, "run", *HEAT, "--unattended")
    assert until(lambda: relay(sim) or at.ended, LAMP_S)
    began_s = time.monotonic()
    shop.run("off")
    assert until(lambda: not relay(sim), 3.0), at.close()
    took_s = time.monotonic() - began_s
    assert stays_off(sim, 14.0), at.close()
    assert until(lambda: at.ended, 20.0)
    at.close()
    assert took_s < 5.0
