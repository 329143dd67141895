"""Odd boards, each from its sheet: `oven new` can say it, over real bytes it heats and goes off."""

import pytest
from foreign.asking import text_by_asking
from foreign.first_sheets import ODD, Exponent, OwnSetPoint
from foreign.fourth_sheets import FOURTH, Restarts, TextPanel
from foreign.second_sheets import ODDER, Percent
from foreign.third_sheets import THIRD, Latch, RunPanel

from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.devices.emergency_off import off_all
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.devices.probing.probe import Probe
from kilnctl.errors import ConfigError
from kilnctl.marks import known_wiring
from kilnctl.permits.dead_man_test import dead_man
from kilnctl.permits.heated_ticks import Watched
from kilnctl.tomlfile import loads

pytestmark = [pytest.mark.real_bytes, pytest.mark.begins_first]


RESTARTS = """name = "bench"
use = "tempering"
build = "leaky"
power = "1200 W"
limit = "260 C"
isolator = "red switch"
switching = {{ kind = "solid-state" }}
port.bus = {{ path = "{}" }}
device.relays = {{ port = "bus", address = 1 }}
dead_man = {{ device = "relays", table = "holding", register = 0, write = 1, drops_after = "3 s" }}
[signal.process]
device = "relays"
table = "input"
register = 0
scale = 0.1
unit = "C"
low = "-20 C"
high = "400 C"
[output]
heater = {{ device = "relays", table = "coil", register = 0 }}
contactor = {{ device = "relays", table = "coil", register = 1 }}
"""


def by_asking(name: str, board) -> Oven:
    return loads(text_by_asking(name, board), Oven, ConfigError, "bench.toml")


FOLLOWERS = ("run-panel", "text-panel")  # they want a temperature
EVERY = ODD | ODDER | {name: made for name, made in (THIRD | FOURTH).items() if name not in FOLLOWERS}


@pytest.mark.parametrize("name", EVERY)
def test_an_odd_board_is_said_heats_and_goes_off(name: str) -> None:
    board = EVERY[name]()
    oven_io = open_oven_io(by_asking(name, board), RealClock())
    try:
        oven_io.connect()
        for at_s in range(2):
            seen = oven_io.scan(at_s)
            assert seen.process.value == pytest.approx(20.0, abs=1.0)
            assert oven_io.drive(HeatRequest(True, 1.0)), oven_io.why
            assert oven_io.feed(), oven_io.why
        seen = oven_io.scan(2.0)
        assert (seen.heat_on, seen.link.foreign, board.air.live) == (True, 0, True)
        assert oven_io.off()
        assert oven_io.scan(3.0).heat_on is False
        assert not board.air.live
    finally:
        oven_io.close()
        board.close()


def test_a_decimal_point_that_moves_in_mid_heat_moves_no_reading() -> None:
    """The sheet of the module: tenths below, whole degrees above; a scale of its own could say one only."""
    board = Exponent()
    oven = by_asking("exponent", board)
    oven_io = open_oven_io(oven, RealClock())
    try:
        for air_c, points in ((24.0, 1), (36.0, 0)):
            board.air.air_c = board.air.seen_c = air_c
            assert oven_io.scan(0.0).process.value == pytest.approx(air_c, abs=1.0)
            assert board.points == points
        oven_io.close()
        probe = Probe(oven, RealClock())
        assert [one.good for one in probe.temperatures(36.0)] == [True, True]
        board.sensor.looks = lambda: board.sensor.tables["input"].update({105: 77})
        assert "77" in probe.temperatures(36.0)[0].say
        probe.close()
        assert not oven_io.scan(1.0).process.good
    finally:
        oven_io.close()
        board.close()


def test_a_point_that_somebody_moves_under_an_output_ends_the_heat() -> None:
    """Without decimals a tenth of full heat is full heat; the identity of the sheet says so first."""
    board = Percent()
    oven_io = open_oven_io(by_asking("percent", board), RealClock())
    try:
        oven_io.connect()
        oven_io.scan(0.0)
        assert oven_io.drive(HeatRequest(True, 0.1)), oven_io.why
        board.unit.tables["holding"][11] = 0
        assert not oven_io.scan(1.0).process.good
        assert oven_io.off()
        assert not board.air.live
    finally:
        oven_io.close()
        board.close()


def test_a_watchdog_that_counts_goes_on_where_another_process_stopped() -> None:
    board = ODDER["count"]()
    oven = by_asking("count", board)
    try:
        for _ in range(2):
            oven_io = open_oven_io(oven, RealClock())
            oven_io.connect()
            oven_io.scan(0.0)
            assert oven_io.drive(HeatRequest(True, 1.0)), oven_io.why
            assert oven_io.feed()
            assert oven_io.scan(1.0).heat_on is True
            oven_io.close()
    finally:
        board.close()


def test_a_panel_that_falls_back_to_a_hot_set_point_of_its_own_is_not_off() -> None:
    board = OwnSetPoint(local_c=650.0)
    oven_io = open_oven_io(by_asking("own-set-point", board), RealClock())
    try:
        oven_io.scan(0.0)
        assert not oven_io.off()
    finally:
        oven_io.close()
        board.close()


def test_a_latch_is_taken_back_before_a_heat_and_never_in_one() -> None:
    board = Latch()
    oven = by_asking("latch", board)
    assert [(arm.register_no, arm.write) for arm in oven.arm] == [(10, 100), (11, 0)]
    cells, coils = board.unit.tables["holding"], board.unit.tables["coil"]
    oven_io = open_oven_io(oven, RealClock())
    try:
        oven_io.connect()
        cells[11] = 1  # an earlier silence
        assert oven_io.drive(HeatRequest(True, 1.0)), oven_io.why
        assert (cells[10], cells[11]) == (100, 0)
        coils[4], cells[11] = 0, 1  # the watchdog drops the heat in mid-heat
        assert not oven_io.drive(HeatRequest(True, 1.0))
        assert (cells[11], board.unit.tables["coil"][4]) == (1, 0)
        assert oven_io.off()
        assert oven_io.drive(HeatRequest(True, 1.0)), oven_io.why
    finally:
        oven_io.close()
        board.close()


def test_a_panel_that_wants_run_and_takes_only_writes_for_a_sign_of_life() -> None:
    board = RunPanel()
    oven = by_asking("run-panel", board)
    assert oven.signal.process.open_values == (-9999.0,)
    oven_io = open_oven_io(oven, RealClock())
    try:
        oven_io.connect()
        assert oven_io.drive(HeatRequest(True, 1.0, 100.0)), oven_io.why
        assert oven_io.feed(), oven_io.why
        assert oven_io.scan(1.0).process.good
        cells = board.unit.tables["holding"]
        assert (board.air.live, cells[0x111], cells[0x110]) == (True, 3, 1)
        found = dead_man(Watched(oven, oven_io, RealClock(), lambda: True))
        assert found.passed, found.line
        written = len(board.unit.written)
        for at_s in range(2, 5):
            assert oven_io.scan(at_s).follower_goal_c == pytest.approx(250.0)
            oven_io.drive(HeatRequest(True, 1.0, 250.0))
        assert len(board.unit.written) == written  # its memory wears out
        assert oven_io.off()
        board.unit.looks()
        assert (board.air.live, cells[0x110]) == (False, 0)
    finally:
        oven_io.close()
        board.close()


def test_a_panel_of_text_lines_gets_its_set_point_in_four_digits_and_falls_silent() -> None:
    board = TextPanel()
    oven = by_asking("text-panel", board)
    oven_io = open_oven_io(oven, RealClock())
    try:
        oven_io.connect()
        assert oven_io.drive(HeatRequest(True, 1.0, 85.3)), oven_io.why
        seen = oven_io.scan(1.0)
        assert (board.goal_c, seen.follower_goal_c) == (85.3, pytest.approx(85.3))
        assert oven_io.off()
        assert (board.goal_c, board.air.live) == (0.0, False)
    finally:
        oven_io.close()
        board.close()


@pytest.mark.slow
def test_a_text_panel_whose_output_is_back_with_the_next_line_is_seen_to_drop() -> None:
    """Its temperature was asked first, and with that the output was back before anybody looked at it."""
    board = TextPanel()
    oven = by_asking("text-panel", board)
    oven_io = open_oven_io(oven, RealClock())
    try:
        oven_io.connect()
        found = dead_man(Watched(oven, oven_io, RealClock(), lambda: True))
        assert found.passed, found.line
        assert found.any_traffic
    finally:
        oven_io.close()
        board.close()


def test_what_a_board_says_by_itself_before_an_off_is_not_its_read_back() -> None:
    board = FOURTH["talker"]()
    oven_io = open_oven_io(by_asking("talker", board), RealClock())
    try:
        oven_io.connect()
        oven_io.feed()
        for at_s in range(3):
            assert oven_io.drive(HeatRequest(at_s % 2 == 0, 1.0)), oven_io.why
            assert oven_io.scan(at_s).heat_on is (at_s % 2 == 0)
            assert board.heat is (at_s % 2 == 0)
            oven_io.feed()
        assert oven_io.off()
        assert not board.heat
    finally:
        oven_io.close()
        board.close()


def test_a_board_that_falls_silent_for_good_is_not_proved() -> None:
    board = Restarts()
    board.holds_s, board.SILENT_S = 3.0, 1e6
    oven_io = open_oven_io(loads(RESTARTS.format(board.path), Oven, ConfigError, "bench.toml"), RealClock())
    try:
        oven_io.connect()
        found = dead_man(Watched(oven_io.oven, oven_io, RealClock(), lambda: True))
        assert not found.passed
        assert "a reading failed meanwhile" in found.line
    finally:
        oven_io.close()
        board.close()


@pytest.mark.parametrize("holds_s", [3.0, 1e6])
def test_a_board_that_its_watchdog_restarts_is_proved_in_a_silence_of_its_own(holds_s: float) -> None:
    """It fell silent with the drop, and off was sent for the reading, which proved nothing."""
    board = Restarts()
    board.holds_s = holds_s
    oven = loads(RESTARTS.format(board.path), Oven, ConfigError, "bench.toml")
    oven_io = open_oven_io(oven, RealClock())
    try:
        oven_io.connect()
        for _ in range(3):  # on a busy machine the board may miss a reading: the person does what is said
            found = dead_man(Watched(oven, oven_io, RealClock(), lambda: True))
            if "do it again" not in found.line:
                break
        assert found.passed is (holds_s < 10.0), found.line
        assert "falls silent as it drops" in found.line or not found.passed
    finally:
        oven_io.close()
        board.close()


@pytest.mark.parametrize("name", ["word", "both"])
def test_a_word_that_sets_two_outputs_leaves_the_other_as_it_was(name: str) -> None:
    """And an off clears the heater whatever the lamp was told."""
    board = THIRD[name]()
    oven_io = open_oven_io(by_asking(name, board), RealClock())
    try:
        oven_io.connect()
        oven_io.feed()
        assert oven_io.drive(HeatRequest(True, 1.0)), oven_io.why
        oven_io.sound(horn=False, lamp=True)
        seen = oven_io.scan(1.0)
        assert (seen.heat_on, board.lit) == (True, True)
        assert oven_io.off()
        assert (oven_io.scan(2.0).heat_on, board.air.live, board.lit) == (False, False, True)
        oven_io.sound(horn=False, lamp=False)
        assert (oven_io.scan(3.0).heat_on, board.lit) == (False, False)
    finally:
        oven_io.close()
        board.close()


def test_a_power_in_a_text_line_may_come_back_with_zeros_around_it() -> None:
    board = THIRD["power"]()
    oven = by_asking("power", board)
    assert (oven.output.heater.kind, oven.output.heater.on, oven.has_dead_man) == ("duty", 100, True)
    oven_io = open_oven_io(oven, RealClock())
    try:
        oven_io.connect()
        assert oven_io.drive(HeatRequest(True, 0.37)), oven_io.why
        assert (board.power, oven_io.scan(1.0).heat_on) == (37, True)
        assert oven_io.off()
        assert board.power == 0
    finally:
        oven_io.close()
        board.close()


@pytest.mark.parametrize(
    ("place", "said"),
    [
        ('table = "coil"\nregister = 4\nwrite = 1', "share coil 4"),
        ('table = "input"\nregister = 4\nwrite = 1', "cannot be written"),
        ('table = "holding"\nwrite = 1', "needs table and register"),
    ],
)
def test_what_is_armed_is_no_output(place: str, said: str) -> None:
    board = Latch()
    try:
        text = text_by_asking("latch", board)
    finally:
        board.close()
    with pytest.raises(ConfigError, match=said):
        loads(f'{text}\n[[arm]]\ndevice = "relays"\n{place}\n', Oven, ConfigError, "bench.toml")


@pytest.mark.usefixtures("own_home")
@pytest.mark.parametrize("name", ["latch", "enter", "word", "power", "both"])
def test_off_alone_needs_no_more_than_what_was_kept_of_the_file(name: str) -> None:
    """As an `off` at the port does it: another process, which has written nothing of these lines before."""
    board = THIRD[name]()
    text = text_by_asking(name, board)
    oven_io = open_oven_io(loads(text, Oven, ConfigError, "bench.toml"), RealClock())
    try:
        oven_io.connect()
        oven_io.feed()
        assert oven_io.drive(HeatRequest(True, 1.0)), oven_io.why
        assert oven_io.scan(1.0).heat_on
        known_wiring.keep(oven_io.oven, text)
        kept = known_wiring.recall("bench", text)
        assert kept is not None
        assert off_all([kept], RealClock(), share=True) == {"bench": True}
        assert oven_io.scan(2.0).heat_on is False
    finally:
        oven_io.close()
        board.close()
