"""Two ovens on one 9600 baud line: separate I/O, one owner of the port, a dead device that starves nobody.

Time is virtual: every exchange costs what its bytes take on the wire, the silence between frames, and 5 ms
for the device. The two ovens take turns, the worst case for the second one.
"""

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.config.oven import Oven
from kilnctl.devices.bus_registry import Buses
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.oven_io import WiredIO
from kilnctl.errors import ConfigError, RunRefused
from kilnctl.tomlfile import loads

BYTE_S = 10 / 9600
SILENCE_S, TURNAROUND_S = 0.004, 0.005
HALF_SECOND_S = 0.5
ON = HeatRequest(True, 1.0)


class Pair:
    """Two boards, two ovens, one line."""

    def __init__(self, bench_of):
        text = bench_of.__init__.__defaults__[0]
        self.bench = bench_of(text)
        self.clock: VirtualClock = self.bench.clock
        self.board = self.bench.board
        self.board.add(2)
        self.board.registers[2] |= {("input", 0): 300, ("holding", 0): 0}
        self.board.fault = self._slowly
        self.buses = Buses(self.clock, opener=self.bench._open)
        self.left = WiredIO(self.bench.oven, self.buses, self.clock)
        other = text.replace('name = "bench"', 'name = "other"').replace("address = 1", "address = 2")
        self.right = WiredIO(loads(other, Oven, ConfigError, "other.toml"), self.buses, self.clock)

    def _slowly(self, request, reply):
        after = (len(request) + len(reply)) * BYTE_S + SILENCE_S + TURNAROUND_S
        return [(after, reply)]

    def tick(self, oven_io, at_s):
        began = self.clock.real_s()
        scan = oven_io.scan(at_s)
        if scan.process.good:
            oven_io.drive(ON)
            oven_io.feed()
        return scan, self.clock.real_s() - began


@pytest.fixture
def pair(bench_of, quick):
    return Pair(bench_of)


def run(pair, ticks):
    """Return the seconds that both ovens took in each tick, and whether the right one was good throughout."""
    pair.left.connect()
    pair.right.connect()
    took, good = [], True
    for tick in range(ticks):
        _, left_s = pair.tick(pair.left, float(tick))
        scan, right_s = pair.tick(pair.right, float(tick))
        good = good and scan.process.value == 30.0 and scan.link.bad_fraction == 0.0
        took.append((left_s, right_s))
        pair.clock.advance(max(0.0, 1.0 - left_s - right_s))
    return took, good


def test_two_ovens_share_one_bus_and_never_each_others_values(pair):
    took, good = run(pair, 100)
    assert good
    assert pair.left.scan(0).process.value == 20.0
    assert pair.board.coils[1][0] == pair.board.coils[2][0] == 1
    assert max(left + right for left, right in took) < HALF_SECOND_S


def test_off_of_one_leaves_the_other_alone(pair):
    run(pair, 2)
    assert pair.left.off()
    assert (pair.board.coils[1][0], pair.board.coils[2][0]) == (0, 1)


def test_a_dead_device_costs_one_short_probe_and_the_other_oven_no_reading(pair):
    run(pair, 2)
    pair.board.deaf.add(1)
    took, good = [], True
    for tick in range(2, 60):
        _, left_s = pair.tick(pair.left, float(tick))
        scan, _ = pair.tick(pair.right, float(tick))
        good = good and scan.process.good and scan.link.bad_fraction == 0.0
        took.append(left_s)
        pair.clock.advance(0.5)
    assert good
    assert max(took[1:]) <= 0.1


def test_off_again_and_again_on_a_dead_device_stays_short(pair):
    """After a trip the runner sends off in every tick; only the first try is long."""
    run(pair, 2)
    pair.board.deaf.add(1)
    pair.left.off()
    for _ in range(5):
        began = pair.clock.real_s()
        pair.left.off()
        assert pair.clock.real_s() - began <= 0.4
        pair.clock.advance(0.5)


def test_a_port_is_given_back_with_its_last_oven(pair):
    run(pair, 2)
    line = pair.bench.line
    pair.left.close()
    assert line.is_open
    pair.right.close()
    assert not line.is_open


def test_other_settings_on_the_same_port_are_refused(pair, bench_of):
    text = bench_of.__init__.__defaults__[0]
    other = text.replace('path = "/dev/fake"', 'path = "/dev/fake"\nbaud = 19200').replace("bench", "third")
    with pytest.raises(RunRefused, match="third needs other settings on it"):
        WiredIO(loads(other, Oven, ConfigError, "x.toml"), pair.buses, pair.clock)


@pytest.mark.on_demand
@pytest.mark.parametrize("dead", [False, True], ids=["both alive", "one dead half of the time"])
def test_ten_thousand_ticks(pair, dead):
    """Prints the busy time of the line in each tick, and how long the second oven waits for the first."""
    pair.left.connect()
    pair.right.connect()
    both, waits = [], []
    for tick in range(10_000):
        if dead and tick % 20 == 0:
            pair.board.deaf ^= {1}
        _, left_s = pair.tick(pair.left, float(tick))
        scan, right_s = pair.tick(pair.right, float(tick))
        assert scan.process.good
        both.append(left_s + right_s)
        waits.append(left_s)
        pair.clock.advance(max(0.0, 1.0 - left_s - right_s))
    for name, values in (("line busy per tick", both), ("second oven waits", waits)):
        ranked = sorted(values)
        print(f"\n{name}: median {ranked[5000]:.3f} s, 99.9th {ranked[9990]:.3f} s, worst {ranked[-1]:.3f} s")
    assert max(both) < 1.0
