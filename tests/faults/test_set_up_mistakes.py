"""A maker's mistakes, planted in his oven file, over real bytes: the walk says the sentence that he needs."""

import contextlib
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from maker import Maker

from kilnctl.cli.oven.simulate import Simulation, start
from kilnctl.clock import RealClock
from kilnctl.commissioning.procedures import DOING
from kilnctl.commissioning.wizard import Shop, do_step
from kilnctl.config.home import bundled
from kilnctl.config.oven import Oven
from kilnctl.devices.bus_registry import Buses
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.devices.probing.probe import Probe
from kilnctl.errors import ConfigError
from kilnctl.logbook.entries import CommissioningStep
from kilnctl.logbook.writer import Logbook
from kilnctl.permits.setup_steps import find_step
from kilnctl.tomlfile import loads

SPEED = 40
SOUND = (bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
PROCESS = 'register = 0\nformat = "int16"\nscale = 0.1\nunit = "C"'
FLOAT = 'register = 0\nformat = "float32"\nscale = 1.0\nunit = "C"'
IDENTITY = '\n[[identity]]\ndevice = "board"\ntable = "holding"\nregister = 50\nexpect = 41\n'
OTHER = IDENTITY.replace("41", "77")

pytestmark = [pytest.mark.real_bytes, pytest.mark.slow]


@pytest.fixture
def port(tmp_path: Path) -> Path:
    return tmp_path / "port"


@pytest.fixture
def walked(port: Path) -> Iterator[Callable[..., tuple[CommissioningStep, Maker, Simulation]]]:
    """Return what does one step with a file against a simulator that is wired as another file says."""
    left = contextlib.ExitStack()

    def oven_of(text: str) -> Oven:
        return loads(text.replace("lines/tempering-oven", str(port)), Oven, ConfigError, "oven.toml")

    def do(step: str, planted: str, wired: str = SOUND, *, beside: str = "", **more: object):
        others = {"also": oven_of(beside)} if beside else {}
        faults = more.pop("fault", ())
        sim = start(oven_of(wired), link=port, speed=SPEED, fault=faults, **others)
        left.callback(sim.close)
        board_io = {
            "off": lambda: sim.do("power off", str),
            "on": lambda: (sim.do("power on", str), time.sleep(0.1)),
        }
        acts = {"Switch the board's supply": board_io["off"], "switch the supply on": board_io["on"]}
        maker = Maker({"thermometer read": "20 C", "stay on": "8 s"} | more.pop("answers", {}), acts=acts)
        acts_by_name = more.pop("acts", {})
        maker.acts |= {words: (lambda act=act: sim.do(act, str)) for words, act in acts_by_name.items()}
        oven, clock = oven_of(planted), RealClock(SPEED)
        book = left.enter_context(Logbook(None))
        buses = Buses(clock)
        shop = Shop(
            oven=oven,
            oven_text=planted,
            person=maker,
            clock=clock,
            book=book,
            oven_io=lambda like: open_oven_io(like, clock, SPEED, buses),
            probe=lambda: Probe(oven, clock),
            beside=lambda: _connected({n: open_oven_io(o, clock, SPEED, buses) for n, o in _named(others)}),
            addresses=range(1, 4),
        )
        return do_step(shop, find_step(step), DOING), maker, sim

    with left:
        yield do


def _named(others):
    return [(oven.name, oven) for oven in others.values()]


def _connected(oven_io):
    for one_of in oven_io.values():
        one_of.connect()
    return oven_io


def test_a_sound_oven_passes_the_bus_check(walked) -> None:
    kept, maker, _ = walked("bus check", SOUND)
    assert kept.passed, maker.text
    assert "Every output came up off" in maker.text
    assert "every output reads off" in maker.text


SECOND = SOUND.replace("address = 1", "address = 2").replace('name = "tempering-oven"', 'name = "left-oven"')


@pytest.mark.parametrize(
    ("planted", "wired", "more", "sentence"),
    [
        (SOUND, SOUND, {"beside": SECOND}, "address 2 answers, which the oven file does not have"),
        (SOUND + OTHER, SOUND + IDENTITY, {}, "holds 41, not 77: another device answers"),
        (SOUND, SOUND, {"fault": ["replies-echoed@0"]}, "an echo. Switch its echo off"),
        (SOUND, SOUND, {"fault": ["boots-on@0"]}, "reads 1, off is 0. A board that heats after a power cut"),
        (
            SOUND.replace('table = "discrete"\nregister = 1', 'table = "discrete"\nregister = 2'),
            SOUND,
            {},
            "has no discrete 2, but discrete 1. Many tables count from 1",
        ),
    ],
    ids=["stranger", "identity", "echo", "power-up", "numbering of an input"],
)  # fmt: skip
def test_what_is_wrong_on_the_bus_is_said(walked, planted, wired, more, sentence) -> None:
    kept, maker, _ = walked("bus check", planted, wired, **more)
    assert not kept.passed
    assert sentence in maker.text
    assert sentence in kept.note


@pytest.mark.parametrize(
    ("planted", "wired", "sentence"),
    [
        (SOUND, SOUND.replace(PROCESS, PROCESS.replace('"C"', '"F"')), 'With unit = "F" it would show'),
        (SOUND.replace(PROCESS, PROCESS.replace("0.1", "1.0")), SOUND, "With scale = 0.1 it would show"),
        (
            SOUND.replace(PROCESS, FLOAT),
            SOUND.replace(PROCESS, FLOAT + '\nword_order = "low first"'),
            'With word_order = "low first" it would show',
        ),
        (
            SOUND.replace(PROCESS, PROCESS.replace("register = 0", "register = 1")),
            SOUND,
            "has no input 1, but input 0. Many tables count from 1",
        ),
    ],
    ids=["unit", "scale", "word order", "register numbering"],
)
def test_absurd_cold_readings_are_explained(walked, planted, wired, sentence) -> None:
    kept, maker, _ = walked("cold check", planted, wired)
    assert not kept.passed
    assert sentence in maker.text, maker.text


def test_a_sound_sensor_passes_the_cold_check(walked) -> None:
    kept, maker, _ = walked("cold check", SOUND, acts={"warm the sensor now": "fault sensor-offset:5"})
    assert kept.passed, maker.text
    assert abs(kept.value) < 1.0
    assert kept.data["room, °C"] == 20.0


def test_swapped_leads_show_when_the_sensor_is_warmed(walked) -> None:
    kept, maker, _ = walked("cold check", SOUND, acts={"warm the sensor now": "fault sensor-offset:-5"})
    assert not kept.passed
    assert "its two leads are swapped" in maker.text


def test_coil_numbers_that_count_from_one_show_as_no_power(walked) -> None:
    """The heater's words go to the contactor, and the contactor's to the horn."""
    shifted = SOUND
    for number in (3, 2, 1, 0):
        shifted = shifted.replace(
            f'table = "coil"\nregister = {number}', f'table = "coil"\nregister = {number + 1}'
        )
    kept, maker, _ = walked("heater pulse", shifted, acts={})
    assert not kept.passed
    assert "no power at the element: relay, fuse, door switch or coil number" in maker.text


@pytest.mark.on_demand
@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"fault": ["sensor-reversed@0"]}, "its two leads are swapped"),
        ({"beside": SECOND, "fault": ["outputs-crossed@0"]}, "of the two are crossed"),
        ({"beside": SECOND, "fault": ["sensors-crossed@0"]}, "of the two are crossed"),
    ],
    ids=["reversed", "heaters crossed", "sensors crossed"],
)
def test_a_pulse_finds_what_is_crossed(walked, more, sentence) -> None:
    """In virtual time the everyday tests do the same; this is over real bytes."""
    kept, maker, _ = walked("heater pulse", SOUND, **more)
    assert not kept.passed
    assert sentence in maker.text
