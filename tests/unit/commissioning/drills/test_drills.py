"""Drills against the simulated board: what passes on a sound oven must fail on the oven it is there for."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.commissioning.drills import drills
from kilnctl.commissioning.drills.drill_rig import DrillRig
from kilnctl.config import home
from kilnctl.config.oven import Measured, load_oven
from kilnctl.config.wiring import Number
from kilnctl.model.nameplate import nameplate
from kilnctl.permits.heated_ticks import Watched
from kilnctl.processes.supervisor import SILENCE_S
from kilnctl.readings import Quality, Reading, Scan
from kilnctl.rehearsal.virtual_io import VirtualIO
from simulator.boards.board import Board
from simulator.boards.faults import parse_fault
from simulator.boards.two_ovens import cross_outputs
from simulator.oven import ovens


@pytest.fixture
def drill():
    oven = load_oven(home.bundled("ovens") / "tempering-oven.toml")

    def do(name, *faults, like=oven, plant=None, limit_c=None, **more):
        board = {key: more.pop(key) for key in ("dead_man",) if key in more}
        sim = Board(plant or ovens.tempering_oven(3), seed=3, limit_c=limit_c, **board)
        sim.schedule([parse_fault(fault) for fault in faults])
        clock = VirtualClock()
        oven_io = VirtualIO(like, sim, clock)
        oven_io.connect()
        sim.step(10.0)
        clock.advance(10.0)
        found = drills.run(name, like, oven_io, clock, **more)
        assert faults or not sim.read("coil", 0)
        return found

    return do


def test_the_dead_man_is_measured(drill):
    found = drill("dead_man")
    assert found.passed
    assert found.value == pytest.approx(10.0, abs=0.5)


def test_a_board_without_a_dead_man_fails(drill):
    found = drill("dead_man", dead_man=False)
    assert not found.passed
    assert "NO dead-man" in found.line
    assert not drill("dead_man", "dead-man-stuck@0").passed


def test_a_pulse_from_cold_warms_its_own_sensor(drill):
    found = drill("pulse")
    assert found.passed, found.line
    assert 12.0 <= found.value <= 18.0  # K


@pytest.mark.parametrize(
    ("fault", "word"),
    [
        ("sensor-reversed@0", "two leads are swapped"),
        ("sensor-displaced@0:20", "the sensor is not in the chamber"),
        ("relay-open@0", "no power at the element"),
        ("sensor-open@0", "good sensor"),
    ],
)
def test_a_pulse_finds_reversed_lost_and_dead(drill, fault, word):
    found = drill("pulse", fault)
    assert not found.passed
    assert word in found.line


class Settling(VirtualIO):
    """The sensor was warmed by hand a moment ago: it falls by 9 K, most of it within two minutes."""

    def scan(self, at_s):
        scan = super().scan(at_s)
        warm_k = 9.0 * math.exp(-at_s / 60.0)
        return replace(scan, process=replace(scan.process, value=scan.process.value + warm_k))


@pytest.mark.parametrize(("fault", "passes"), [("", True), ("relay-open@0", False)])
def test_a_pulse_waits_until_the_sensor_has_come_to_rest(fault, passes):
    oven = load_oven(home.bundled("ovens") / "tempering-oven.toml")
    sim, clock, told = Board(ovens.tempering_oven(3), seed=3), VirtualClock(), []
    sim.schedule([parse_fault(fault)] if fault else [])
    found = drills.run("pulse", oven, Settling(oven, sim, clock), clock, tell=told.append)
    assert found.passed is passes, found.line
    assert "swapped" not in found.line
    assert any("to settle" in line for line in told)
    assert told[0].startswith("no heat yet: looking for 30 s")  # the screen was silent for so long


def test_a_quiet_bus_passes_and_a_silent_one_does_not(drill):
    assert drill("bus").passed
    assert not drill("bus", "replies-silent@5").passed


def test_the_weld_drill_notices_a_weld_and_nothing_else(drill):
    assert not drill("weld").passed
    found = drill("weld", "relay-welded@0")
    assert found.passed
    assert "live" in found.line


def test_an_unplugged_sensor_is_off_within_two_ticks(drill):
    found = drill("sensor", "sensor-open@8min")
    assert found.passed
    assert found.value <= 2


def test_an_opened_door_is_seen(drill):
    assert drill("door", "door-open@12min").passed
    assert not drill("door").passed


def test_a_horn_sounds(drill):
    assert drill("horn").passed


def test_the_limit_is_seen_to_open_and_one_that_does_not_is_told(drill):
    found = drill("limit", limit_c=150.0)
    assert found.passed
    assert found.value == pytest.approx(150.0, abs=10.0)
    late = drill("limit", limit_c=200.0)
    assert not late.passed
    assert "had not opened" in late.line


def test_an_emergency_stop_is_seen_at_the_element(drill):
    assert drill("stop_button", "supply-lost@60s").passed
    found = drill("stop_button")
    assert not found.passed
    assert "two minutes" in found.line
    assert "not what the board puts out" in found.line


def test_a_warmed_sensor_moves_up(drill):
    assert drill("warmed", "sensor-offset@60:4").passed
    down = drill("warmed", "sensor-offset@60:-4")
    assert not down.passed
    assert "leads are swapped" in down.line
    assert not drill("warmed").passed


@pytest.mark.parametrize("build", ["brick", "fibre", "heavy", "leaky", "fan"])
@pytest.mark.parametrize("seed", [0, 1, 2])
def test_a_sound_oven_of_any_build_passes_the_pulse(drill, build, seed):
    """Random ovens, within a quarter in masses and losses: a guess by the nameplate must not fail them."""
    name = "tempering-oven" if build in ("leaky", "fan") else "hardening-furnace"
    like = load_oven(home.bundled("ovens") / f"{name}.toml").model_copy(update={"build": build})
    plant = ovens.random_oven(build, seed, power_w=like.power_w)
    room_c = plant.ambient_c
    found = drill("pulse", like=like.model_copy(update={"ambient_c": room_c}), plant=plant)
    assert found.passed, found.line


class Quick(VirtualIO):
    """A light oven, whose sensor is soon at its highest and falls again."""

    def scan(self, at_s):
        scan = super().scan(at_s)
        rise_k = 4.2 * (scan.process.value - self.oven.ambient_c) * math.exp(-max(0.0, at_s - 110.0) / 60.0)
        return replace(scan, process=replace(scan.process, value=self.oven.ambient_c + rise_k))


@pytest.mark.parametrize("build", ["brick", "fibre", "heavy", "leaky", "fan"])
def test_a_light_oven_passes_whatever_its_walls_are_called(build):
    """One that rose by 44 K passed as "fibre" only, so every strange oven's file had to be written again."""
    like = load_oven(home.bundled("ovens") / "tempering-oven.toml").model_copy(update={"build": build})
    clock = VirtualClock()
    oven_io = Quick(like, Board(ovens.tempering_oven(3), seed=3), clock)
    found = drills.run("pulse", like, oven_io, clock)
    assert found.passed, found.line


def timed(minutes: float):
    oven = load_oven(home.bundled("ovens") / "tempering-oven.toml")
    takes = Measured.model_validate({"heats_to": "200 C", "takes": f"{minutes} min"})
    return oven.model_copy(update={"measured": takes, "elements": "open"})


def test_the_minutes_to_200_say_what_a_pulse_should_bring(drill):
    """The bundled oven takes 13 minutes; by the clock of one that takes 2 it has hardly been heated."""
    found = drill("pulse", like=timed(13.0))
    assert found.passed, found.line
    assert "of one that takes 13 min to 200 °C" in found.line
    assert "dead" not in found.line
    assert "A meter at the plug tells" in drill("pulse", "element-dead@0:0.6", like=timed(13.0)).line
    weak = drill("pulse", "element-dead@0:0.5", like=timed(2.0))
    assert not weak.passed
    assert "part of the element dead" in weak.line


@pytest.mark.parametrize(("elements", "looked_s"), [("open", 215.0), ("muffle", 935.0), (None, 935.0)])
def test_what_hides_the_elements_is_waited_for(elements, looked_s):
    """A sensor outside an oven with its elements in sight is told in three and a half minutes, as before."""
    oven = load_oven(home.bundled("ovens") / "tempering-oven.toml").model_copy(update={"elements": elements})
    sim, clock, told = Board(ovens.tempering_oven(3), seed=3), VirtualClock(), []
    sim.schedule([parse_fault("sensor-displaced@0:20")])
    found = drills.run("pulse", oven, VirtualIO(oven, sim, clock), clock, tell=told.append)
    assert not found.passed
    assert clock.now_s() == pytest.approx(looked_s, abs=10.0)
    assert any("out of sight" in line for line in told) is (elements != "open")


@pytest.mark.parametrize(("fault", "passes"), [("", True), ("element-dead@0:0.5", False)])
def test_a_measured_current_finds_half_an_element(fault, passes):
    oven = load_oven(home.bundled("ovens") / "tempering-oven.toml")
    place = oven.signal.process.model_dump(exclude_none=True, include={"device", "table"})
    current = Number.model_validate({**place, "register": 7, "scale": 0.01, "low": 0.0, "high": 60.0})
    signal = oven.signal.model_copy(update={"current_a": current})
    like = oven.model_copy(update={"signal": signal, "supply_v": 230.0})
    sim, clock = Board(ovens.tempering_oven(3), seed=3), VirtualClock()
    sim.schedule([parse_fault(fault)] if fault else [])
    found = drills.run("pulse", like, VirtualIO(like, sim, clock), clock)
    assert found.passed is passes, found.line
    assert "the heater drew" in found.line
    assert ("part of the element is dead" in found.line) is not passes


# What `kilnctl tune` fits to the bundled tempering oven.
FITTED = {
    "element": 0.1441,
    "face": 3.1666,
    "wall": 0.8194,
    "load": 0.2063,
    "element_radiation": 0.8221,
    "element_linear": 0.0004,
    "load_radiation": 1.0442,
    "load_linear": 0.0039,
    "wall_conductance": 0.0009,
    "wall_gain": 0.5672,
    "leak": 0.0011,
    "sheath_s": 35.296,
    "sheath_radiation": 2.4535,
    "junction_s": 9.8714,
    "sees_element": 0.0239,
    "warm_air": 0.0363,
}


@pytest.mark.parametrize("fault", ["relay-open@0", "sensor-displaced@0:20", "element-dead@0:0.5"])
def test_a_learned_oven_is_judged_closer(drill, fault):
    """Half an element passes a guess by the nameplate, not the oven's own model."""
    like = load_oven(home.bundled("ovens") / "tempering-oven.toml")
    model = replace(nameplate(like), residual_k=0.34, **FITTED)
    assert drill("pulse", model=model).passed
    assert not drill("pulse", fault, model=model).passed


def test_heat_in_another_oven_is_told(drill):
    oven = load_oven(home.bundled("ovens") / "tempering-oven.toml")
    mine, other = Board(ovens.tempering_oven(3), seed=3), Board(ovens.tempering_oven(4), seed=4)
    cross_outputs(mine, other)
    clock = VirtualClock()
    beside = VirtualIO(oven, other, clock)
    found = drills.run("pulse", oven, VirtualIO(oven, mine, clock), clock, neighbours={"left": beside})
    assert not found.passed
    assert "the sensors or the heaters of the two are crossed" in found.line


def test_a_board_that_any_reading_keeps_on_is_told_and_tested_in_silence():
    """Its dead-man is fed by every frame: enough for a lost link, not for a program that hangs."""

    class Lenient(VirtualIO):
        def scan(self, at_s):
            self.board.step(max(0.0, at_s - self.board.at_s))
            if self.board.read("holding", 0):
                self.board.write("holding", 0, 8)
            return super().scan(at_s)

    oven = load_oven(home.bundled("ovens") / "tempering-oven.toml")
    clock = VirtualClock()
    oven_io = Lenient(oven, Board(ovens.tempering_oven(3), seed=3), clock)
    found = drills.run("dead_man", oven, oven_io, clock)
    assert found.passed, found.line
    assert found.any_traffic
    assert "not against a hung program" in found.line


def test_a_weld_is_seen_by_a_learned_model_where_no_contact_shows_it():
    oven = load_oven(home.bundled("ovens") / "tempering-oven.toml")
    blind = oven.model_copy(update={"signal": oven.signal.model_copy(update={"heater_live": None})})
    board = Board(ovens.tempering_oven(3), seed=3)
    board.schedule([parse_fault("relay-welded@20")])
    clock = VirtualClock()
    model = replace(nameplate(oven), residual_k=0.34, **FITTED)
    found = drills.run("weld", blind, VirtualIO(blind, board, clock), clock, model=model)
    assert found.passed, found.line
    assert "off: True" in found.line
    assert not board.contactor


@pytest.mark.parametrize(
    ("said_s", "holds_s", "passes"), [(10.0, 10, True), (10.0, 11, False), (5.0, 8, False)]
)
def test_a_dead_man_that_holds_longer_than_the_file_says_fails(said_s, holds_s, passes):
    class Slow(VirtualIO):
        def feed(self):
            self.board.write("holding", 0, holds_s)
            return True

    oven = load_oven(home.bundled("ovens") / "tempering-oven.toml")
    dead_man = oven.dead_man.model_copy(update={"drops_after_s": said_s})
    clock = VirtualClock()
    oven_io = Slow(oven, Board(ovens.tempering_oven(3), seed=3), clock)
    found = drills.run("dead_man", oven.model_copy(update={"dead_man": dead_man}), oven_io, clock)
    assert found.passed is passes, found.line
    assert f"{said_s:g} s were expected" in found.line
    assert found.value == pytest.approx(holds_s, abs=0.5)


def test_no_heat_after_an_interlock_has_spoken_however_it_is_asked_for():
    oven = load_oven(home.bundled("ovens") / "tempering-oven.toml")
    sim = Board(ovens.tempering_oven(3), seed=3)
    sim.schedule([replace(parse_fault("sensor-open@30"), for_s=60.0)])
    clock = VirtualClock()
    oven_io = VirtualIO(oven, sim, clock)
    oven_io.connect()
    bench = DrillRig(oven, oven_io, clock)
    for _ in range(20):
        bench.tick(True)
    assert sim.read("coil", 0)
    for _ in range(100):  # the sensor comes back after a minute: good readings alone bring no heat back
        scan = bench.tick(True)
        assert bench.trip is None or not sim.read("coil", 0)
    assert bench.trip is not None
    assert scan.process.good


class SilentIO:
    """The I/O of a board that does not answer: each look, and each off, takes nearly two seconds."""

    why, TAKES_S = "no reply", 1.9

    def __init__(self, clock: VirtualClock) -> None:
        self._clock = clock

    def scan(self, at_s: float) -> Scan:
        self._clock.advance(self.TAKES_S)
        return Scan(at_s, Reading.bad(Quality.NO_REPLY, "no reply", at_s), None)

    def drive(self, _request) -> bool:
        self._clock.advance(self.TAKES_S)
        return False


@pytest.mark.parametrize("rig", [DrillRig, Watched])
def test_a_drill_at_a_silent_board_beats_in_time(rig) -> None:
    """It was killed for its silence (3 s), off was not read back, and the screen said to cut the power."""
    clock, beats_s = VirtualClock(), []

    def go_on() -> bool:
        beats_s.append(clock.real_s())
        return True

    oven = load_oven(home.bundled("ovens") / "tempering-oven.toml")
    bench = rig(oven, SilentIO(clock), clock, go_on=go_on)
    for _ in range(3):
        bench.tick(heat=True, watched=False)
    go_on()
    assert max(b - a for a, b in pairwise(beats_s)) < SILENCE_S


@pytest.mark.parametrize("shown_by", ["heat_on", "heater_live"])
def test_a_board_that_drops_its_output_in_the_pulse_is_not_said_to_have_power(shown_by) -> None:
    """A panel fell back to stand-by after 5 s of 60; its contact and its read-back both had shown it."""
    oven = load_oven(home.bundled("ovens") / "tempering-oven.toml")
    sim, clock, asked = Board(ovens.tempering_oven(3), seed=3), VirtualClock(), []

    class FallsBack(VirtualIO):
        def drive(self, request) -> bool:
            asked.append(request.on)
            self.board.write("coil", 0, int(request.on and sum(asked) <= 5))
            return True

        def scan(self, at_s: float) -> Scan:
            scan = super().scan(at_s)
            others = (
                {"heat_on": True, "heater_live": None} if shown_by == "heater_live" else {"heater_live": None}
            )
            on = bool(scan.heat_on)
            if not (asked and asked[-1]):
                return scan
            return replace(scan, **(others | {shown_by: on}))

    oven_io = FallsBack(oven, sim, clock)
    oven_io.connect()
    sim.step(10.0)
    clock.advance(10.0)
    found = drills.run("pulse", oven, oven_io, clock)
    assert not found.passed
    assert "the element has power" not in found.line.lower()
    assert "dropped its output by itself after about 5 s while heat was asked for" in found.line, found.line
    assert "holds" in found.line


@pytest.mark.parametrize("at_s", [0, 4, 25])
def test_a_pulse_that_an_interlock_cuts_early_tells_why_and_what_the_sensor_really_did(at_s):
    """The reading ran away by 5.4 K/s: "rose by 0.0 K ... coil number off by one?" came before the reason."""
    oven = load_oven(home.bundled("ovens") / "tempering-oven.toml")
    clock, seen_c = VirtualClock(), []

    class RunsAway(VirtualIO):
        since_s = None

        def scan(self, now_s):
            scan = super().scan(now_s)
            if scan.heat_on and self.since_s is None:
                self.since_s, seen_c[:] = now_s, seen_c[-1:]
            gone_s = 0.0 if self.since_s is None else max(0.0, now_s - self.since_s - at_s)
            value = scan.process.value + 8.0 * gone_s
            if scan.heat_on or self.since_s is None:
                seen_c.append(value)
            return replace(scan, process=replace(scan.process, value=value))

    found = drills.run("pulse", oven, RunsAway(oven, Board(ovens.tempering_oven(3), seed=3), clock), clock)
    assert not found.passed
    assert "coil number" not in found.line
    assert "at least were expected" not in found.line
    assert found.line.partition(";")[0].endswith("K/s"), found.line
    assert found.value == pytest.approx(max(seen_c) - seen_c[0], abs=1.5)
    assert f"risen by {found.value:.1f} K" in found.line
