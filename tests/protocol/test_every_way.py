"""Every oven file of the pages about connecting, as it stands, on a simulator wired like it: real bytes.

The simulator shares no code with the I/O; the line protocol's two sides were written from the same page.
"""

import re
import threading
from pathlib import Path
from types import SimpleNamespace

import pytest
from foreign.asking import text_by_asking
from foreign.third_sheets import THIRD

from kilnctl.cli.oven.simulate import start
from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.devices.probing.probe import Probe
from kilnctl.errors import ConfigError, RunRefused
from kilnctl.readings import Quality
from kilnctl.tomlfile import loads

pytestmark = [pytest.mark.real_bytes, pytest.mark.begins_first]
SPEED = 30.0
TRIES, NEVER = 10, threading.Event()
PATIENCE_S = 0.8  # of a machine that does ten other things; not scaled
FILES = [
    (page.stem, toml)
    for page in sorted(Path("kilnctl/guide/connect").glob("*.md"))
    for toml in re.findall(r"```toml\n(.*?)```", page.read_text(encoding="utf-8"), re.DOTALL)
]
AT = SimpleNamespace(path="/dev/ttyUSB9")
# A simulator is known by its answer to `who`; a panel that holds for 3 s is too quick for 30 times real time.
FILES += [
    (name, text_by_asking(name, AT).replace('kind = "text"', 'kind = "text"\nwho = "WHO"'))
    for name in THIRD
    if name != "run-panel"
]


def speed_of(oven: Oven) -> float:
    """Return how fast an oven's time may go: of a hold of 3 s a busy machine is late at once."""
    return SPEED if held(oven) >= 5.0 else 12.0


def simulated(toml: str, link: Path) -> Oven:
    """Return the oven of an example, marked simulated, on the simulator's port at its fast settings."""
    toml = re.sub(r'path = "[^"]*"', f'path = "{link}"', toml)
    toml = re.sub(r"baud = \d+", "baud = 115200", toml)
    toml = toml.replace('parity = "even"', 'parity = "none"')
    toml = toml.replace('banner_wait = "2 s"', 'banner_wait = "0.3 s"')
    oven = loads("simulated = true\n" + toml, Oven, ConfigError, "example")
    ports = {name: port.model_copy(update={"timeout_s": PATIENCE_S}) for name, port in oven.port.items()}
    return oven.model_copy(update={"port": ports})


@pytest.fixture
def wired(request, tmp_path):
    link = tmp_path / "port"
    oven = simulated(request.param, link)
    running = start(oven, link=link, speed=speed_of(oven))
    clock = RealClock(speed_of(oven))
    oven_io = open_oven_io(oven, clock, speed_of(oven))
    yield oven, oven_io, clock, running
    oven_io.close()
    running.close()


every_file = pytest.mark.parametrize(
    "wired",
    [toml for _, toml in FILES],
    indirect=True,
    ids=[f"{name}-{i}" for i, (name, _) in enumerate(FILES)],
)


def held(oven):
    """Return how long the board holds the heat by itself, in seconds."""
    return oven.dead_man.drops_after_s if oven.dead_man else oven.output.heater.holds_s or 10.0


def ticks(oven_io, clock, count, request):
    """Heat for some ticks; one so late that the board has rightly dropped the heat begins them anew."""
    held_s = held(oven_io.oven)
    for _ in range(TRIES):
        fed_s, late, scan = clock.now_s(), False, None
        for _ in range(count):
            clock.wait_until(clock.now_s() + 2.0, NEVER)
            scan = oven_io.scan(clock.now_s())
            assert scan.process.good, scan.process.why
            driven, fed = oven_io.drive(request), oven_io.feed()
            late |= clock.now_s() - fed_s > 0.8 * held_s
            fed_s = clock.now_s()
            assert late or (driven and fed), oven_io.why
        if not late:
            return scan
    pytest.skip(f"this machine was {TRIES} times too busy for {speed_of(oven_io.oven):g} times real time")


@every_file
def test_from_the_first_question_to_a_lost_master(wired):
    oven, oven_io, clock, running = wired
    probe = Probe(oven, clock)
    found = [
        *probe.ports(),
        *probe.answers(),
        *probe.identities(),
        *probe.temperatures(20.0),
        probe.power_up(),
    ]
    probe.close()
    assert [f.say for f in found if not f.good] == []

    oven_io.connect()
    first = oven_io.scan(clock.now_s())
    assert first.process.value == pytest.approx(20.0, abs=8.0)
    assert first.heat_on is False
    wanted = HeatRequest(True, 1.0, oven.limit_c - 30)
    last = ticks(oven_io, clock, 15, wanted)
    assert last.heat_on is True
    assert running.board.truth().heater_contact
    assert oven_io.off() is True
    assert oven_io.scan(clock.now_s()).heat_on is False
    assert not running.board.truth().heater_contact

    ticks(oven_io, clock, 3, wanted)
    assert running.board.truth().heater_contact
    clock.wait_until(clock.now_s() + held(oven) + 5.0, NEVER)
    assert not running.board.truth().heater_contact


@every_file
def test_refused_as_a_real_oven_and_at_another_speed_then_cable_out(wired):
    oven, oven_io, clock, running = wired
    unmarked = oven.model_copy(update={"simulated": False})
    for file, scale, said in (
        (oven, 10.0, f"runs at {speed_of(oven):g} ×, not at 10 ×"),
        (unmarked, 1.0, "is not marked simulated"),
    ):
        other = open_oven_io(file, clock, scale)
        with pytest.raises(RunRefused, match=said):
            other.connect()
        other.close()

    oven_io.connect()
    running.close()
    scan = oven_io.scan(clock.now_s())
    assert scan.process.quality in (Quality.NO_REPLY, Quality.BAD_REPLY)
    assert oven_io.drive(HeatRequest(True, 1.0, 100.0)) is False
    assert oven_io.off() is False


def test_pulled_out_and_plugged_in_again_under_another_number(tmp_path):
    """The port comes back as another pseudo-terminal behind the same name; its board has kept the heat on."""
    link = tmp_path / "port"
    oven = simulated(dict(FILES)["modbus-relay"], link)
    first = start(oven, link=link, speed=SPEED)
    clock = RealClock(SPEED)
    oven_io = open_oven_io(oven, clock, SPEED)
    oven_io.connect()
    ticks(oven_io, clock, 3, HeatRequest(True, 1.0))
    first.close()
    assert not oven_io.scan(clock.now_s()).process.good
    second = start(oven, link=link, speed=SPEED)
    second.board.heater = second.board.contactor = True
    clock.pause(0.6)
    scan = oven_io.scan(clock.now_s())
    assert scan.process.good
    assert (scan.heat_on, second.board.heater) == (False, False)
    oven_io.close()
    second.close()
