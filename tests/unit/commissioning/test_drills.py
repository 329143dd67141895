"""Drills against the simulated board: what passes on a sound oven must fail on the oven it is there for."""

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.commissioning import drills
from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.rehearsal.hands import VirtualHands
from simulator import ovens
from simulator.board import Board
from simulator.faults import parse_fault


@pytest.fixture
def drill():
    oven = load_oven(home.bundled("ovens") / "tempering-oven.toml")

    def do(name, *faults, **board):
        sim = Board(ovens.tempering_oven(3), seed=3, **board)
        sim.schedule([parse_fault(fault) for fault in faults])
        clock = VirtualClock()
        hands = VirtualHands(oven, sim, clock)
        hands.connect()
        sim.step(10.0)
        clock.advance(10.0)
        found = drills.run(name, oven, hands, clock)
        assert faults or not sim.read("coil", 0)
        return found

    return do


def test_the_dead_man_is_measured(drill):
    found = drill("dead_man")
    assert found.passed
    assert found.value == pytest.approx(10.0, abs=1.5)


def test_a_board_without_a_dead_man_fails(drill):
    found = drill("dead_man", dead_man=False)
    assert not found.passed
    assert "NO dead-man" in found.line
    assert not drill("dead_man", "dead-man-stuck@0").passed


def test_a_pulse_from_cold_warms_its_own_sensor(drill):
    found = drill("pulse")
    assert found.passed, found.line
    assert 0.3 <= found.value <= 1.3


@pytest.mark.parametrize(
    ("fault", "word"),
    [
        ("sensor-reversed@0", "reversed"),
        ("sensor-displaced@0:20", ""),
        ("relay-open@0", ""),
        ("sensor-open@0", ""),
    ],
)
def test_a_pulse_finds_reversed_lost_and_dead(drill, fault, word):
    found = drill("pulse", fault)
    assert not found.passed
    assert word in found.line


def test_a_quiet_bus_passes_and_a_silent_one_does_not(drill):
    assert drill("bus").passed
    assert not drill("bus", "replies-silent@5").passed


def test_the_weld_drill_notices_a_weld_and_nothing_else(drill):
    assert not drill("weld").passed
    found = drill("weld", "relay-welded@0")
    assert found.passed
    assert "live" in found.line


def test_an_unplugged_sensor_is_off_within_two_ticks(drill):
    found = drill("sensor", "sensor-open@60")
    assert found.passed
    assert found.value <= 2


def test_an_opened_door_is_seen(drill):
    assert drill("door", "door-open@60").passed
    assert not drill("door").passed


def test_a_horn_sounds(drill):
    assert drill("horn").passed
