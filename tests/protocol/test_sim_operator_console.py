"""A simulator with several lines, what somebody at the simulated oven does meanwhile, and who owns a line."""

import os
import queue
import subprocess
import sys
import time

import pytest

from kilnctl.cli.oven.simulate import parse_links, start
from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.errors import ConfigError, PortLost
from kilnctl.tomlfile import loads

pytestmark = pytest.mark.real_bytes
SPEED = 20.0

# Invented: relays on one adapter, a microcontroller with the thermocouple on another.
TWO_PORTS = """
simulated = true
name = "two-cables"
limit = "260 C"
power = "1200 W"
build = "leaky"
use = "tempering"
isolator = "red switch"
switching = { kind = "solid-state" }
port.rs485 = { path = "RELAYS", baud = 115200 }
port.usb = { path = "SENSOR", baud = 115200 }
device.relays = { port = "rs485", address = 3 }
[device.micro]
kind = "text"
port = "usb"
ask = [{ send = "t", reply = "t {process}" }]
tell = {}
[signal]
process = { device = "micro", field = "process", unit = "C", low = "-20 C", high = "400 C" }
door_open = { device = "relays", table = "discrete", register = 0 }
[output]
heater = { device = "relays", table = "coil", register = 0 }
[dead_man]
device = "relays"
table = "holding"
register = 0
write = 10
drops_after = "60 s" # three seconds of a busy machine at twenty times real time
"""


@pytest.fixture
def oven(tmp_path):
    text = TWO_PORTS.replace("RELAYS", str(tmp_path / "relays")).replace("SENSOR", str(tmp_path / "sensor"))
    return loads(text, Oven, ConfigError, "two-cables")


@pytest.fixture
def running(oven):
    running = start(oven, speed=SPEED)
    yield running
    running.close()


@pytest.fixture
def oven_io(oven, running):
    oven_io = open_oven_io(oven, RealClock(SPEED), SPEED)
    yield oven_io
    oven_io.close()


def done(running, words):
    """Return what the person at the oven is told."""
    said = queue.SimpleQueue()
    running.do(words, said.put)
    return said.get(timeout=5)


def test_one_process_serves_the_devices_of_two_ports(oven_io, running):
    oven_io.connect()
    scan = oven_io.scan(0.0)
    assert abs(scan.process.value - 20.0) < 2.0
    assert oven_io.drive(HeatRequest(True, 1.0))
    give_up_s = time.monotonic() + 20
    while scan.process.value < 22.0:
        assert time.monotonic() < give_up_s
        assert oven_io.feed()
        scan = oven_io.scan(0.0)
    assert oven_io.off()


def test_a_link_for_each_port(oven, tmp_path):
    links = parse_links([f"rs485={tmp_path / 'a'}", f"usb={tmp_path / 'b'}"])
    running = start(oven, link=links)
    assert sorted(running.service.talkers) == [tmp_path / "a", tmp_path / "b"]
    running.close()


@pytest.mark.parametrize(
    ("links", "why"),
    [
        (["/tmp/one"], "two-cables has ports usb, rs485|two-cables has ports rs485, usb"),
        (["usb=/tmp/one"], "no --link for port rs485"),
        (["usb=/tmp/one", "/tmp/two"], "NAME=PATH"),
        (["=/tmp/one", "usb=/tmp/two"], "NAME=PATH"),
    ],
)
def test_links_that_do_not_fit_the_file(oven, links, why):
    with pytest.raises(ConfigError, match=why):
        start(oven, link=parse_links(links))


def test_a_real_port_is_no_place_for_a_simulator(oven):
    text = TWO_PORTS.replace("RELAYS", "/dev/ttyUSB0").replace("SENSOR", "/dev/ttyUSB1")
    with pytest.raises(ConfigError, match="/dev/ttyUSB0 is not a path for a simulator; give --link PATH"):
        start(loads(text, Oven, ConfigError, "two-cables"))


def test_a_second_simulator_is_refused_and_told_whose_the_line_is(running, oven, tmp_path):
    with pytest.raises(ConfigError) as refused:
        start("tempering-oven", link=tmp_path / "relays")
    assert f"relays is the line of the simulator in process {os.getpid()}; end that first" in str(
        refused.value
    )
    assert os.readlink(tmp_path / "relays").startswith("/dev/pts/")  # still the first one's


def test_words_through_a_pipe_and_a_killed_simulator_leaves_nothing_in_the_way(tmp_path):
    link = tmp_path / "line"
    words = [sys.executable, "-m", "kilnctl.cli.main", "simulate", "tempering-oven", "--link", str(link)]
    first = subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert first.stdin is not None
    assert first.stdout is not None
    first.stdin.write("door open\nlook\n")
    first.stdin.flush()
    said = [first.stdout.readline() for _ in range(3)]
    first.kill()
    first.communicate()
    assert said[1] == "tempering-oven: the door is open\n"
    assert "door open" in said[2]
    running = start("tempering-oven", link=link)
    running.close()
    assert list(tmp_path.iterdir()) == []


def test_what_a_person_does_at_the_oven_is_seen_over_the_line(oven_io, running):
    oven_io.connect()
    assert oven_io.scan(0.0).door_open is False
    assert done(running, "door open") == "two-cables: the door is open"
    assert oven_io.scan(1.0).door_open is True
    assert done(running, "door shut two-cables") == "two-cables: the door is shut"
    assert oven_io.scan(2.0).door_open is False
    assert done(running, "part in 6 mm") == "two-cables: a cold plate of 6 mm is in"
    assert running.board.plant.part is not None
    assert "part 20.0 °C, heat 0 %, door shut" in done(running, "look")
    assert done(running, "part out") == "two-cables: the chamber is empty"
    assert done(running, "fault sensor-open") == "two-cables: sensor-open has begun"
    time.sleep(0.1)
    assert not oven_io.scan(3.0).process.good
    done(running, "mend sensor-open")
    time.sleep(0.1)
    oven_io.scan(4.0)
    assert oven_io.scan(5.0).process.good


@pytest.mark.parametrize(
    ("words", "why"),
    [
        ("door opn", 'did you mean "door open"'),
        ("part in", "how thick"),
        ("part in 0 mm", "how thick"),
        ("fault nothing", 'no fault "nothing"'),
        ("fault sensor-offset:lots", "takes a number"),
        ("dance", "cannot do"),
    ],
)
def test_words_that_nobody_understands(running, words, why):
    assert why in done(running, words)


def test_cables_out_and_in_again(oven_io, running, tmp_path):
    oven_io.connect()
    assert done(running, "unplug") == "the data cables are out"
    assert list(tmp_path.iterdir()) == []
    assert not oven_io.scan(1.0).process.good
    with pytest.raises(PortLost):
        oven_io.connect()
    assert done(running, "plug") == "the data cables are in"
    time.sleep(0.6)
    oven_io.connect()
    oven_io.scan(2.0)
    assert oven_io.scan(3.0).process.good


def test_with_two_ovens_the_name_says_which(tmp_path):
    running = start("tempering-oven", also="hardening-furnace", link=tmp_path / "line")
    assert "say the oven last: tempering-oven, hardening-furnace" in done(running, "door open")
    done(running, "door open hardening-furnace")
    assert [board.plant.door_open for board in running.boards] == [False, True]
    running.close()


def test_two_ovens_are_crossed_by_hand(tmp_path):
    running = start("tempering-oven", also="hardening-furnace", link=tmp_path / "line")
    left, right = running.boards
    assert "outputs-crossed" in done(running, "fault outputs-crossed")
    assert (left.heated, right.heated) == (right.plant, left.plant)
    done(running, "mend outputs-crossed")
    assert (left.heated, right.heated) == (left.plant, right.plant)
    running.close()
    alone = start("tempering-oven", link=tmp_path / "line")
    assert "needs two ovens" in done(alone, "fault outputs-crossed")
    alone.close()
