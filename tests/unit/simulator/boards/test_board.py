"""The board: off first, dead-man, outputs in series, limit, converter, registers, and the line in process."""

from itertools import pairwise

import pytest

from simulator.boards.board import BadValue, Board, DamagedAnswer, NoAnswer, NoSuchRegister
from simulator.boards.faults import parse_fault
from simulator.oven.ovens import hardening_furnace, tempering_oven
from simulator.oven.part import Part


def on(board: Board, feed_s: int = 60) -> None:
    board.write("holding", 0, feed_s)
    board.write("coil", 1, 1)
    board.write("coil", 0, 1)


def flaw(board: Board, text: str) -> None:
    board.begin(parse_fault(text))


def flows(board: Board) -> bool:
    board.step(1.0)
    return board.truth().heater_contact


def test_off_drops_every_way_of_heating() -> None:
    board = Board(tempering_oven(), follower=True)
    on(board)
    board.write("holding", 1, 500)
    board.write("holding", 2, 50)
    board.write("holding", 3, 2000)
    board.off()
    assert not flows(board)
    assert [board.read("coil", 0), board.read("coil", 1)] == [0, 0]
    assert [board.read("holding", r) for r in (1, 2, 3)] == [0, 0, 0]


def test_boots_off_and_starved() -> None:
    board = Board(tempering_oven())
    board.write("coil", 1, 1)
    board.write("coil", 0, 1)
    board.write("holding", 1, 1000)
    assert [board.read("coil", 0), board.read("coil", 1), board.read("holding", 0)] == [0, 0, 0]
    assert not flows(board)


def test_dead_man_drops_the_heat_to_the_second() -> None:
    board = Board(tempering_oven())
    on(board, 10)
    for _ in range(30):
        board.step(1.0)
    assert board.truth().energy_j == pytest.approx(10 * 1200, rel=0.02)
    assert [board.read("coil", 0), board.read("coil", 1)] == [0, 0]


def test_dead_man_inside_one_long_step() -> None:
    board = Board(tempering_oven())
    on(board, 10)
    board.step(25.0)
    assert board.truth().energy_j == pytest.approx(10 * 1200, rel=0.02)


def test_feeding_is_capped_at_a_minute_and_zero_drops_at_once() -> None:
    board = Board(tempering_oven())
    on(board, 3600)
    assert board.read("holding", 0) == 60
    board.write("holding", 0, 0)
    assert not flows(board)


def test_dead_man_runs_down_while_the_heater_is_off() -> None:
    board = Board(tempering_oven())
    board.write("holding", 0, 5)
    board.step(6.0)
    board.write("coil", 0, 1)
    assert board.read("coil", 0) == 0


def test_bad_boards_without_dead_man_that_boot_on() -> None:
    board = Board(tempering_oven(), dead_man=False, boots_on=True)
    for _ in range(300):
        board.step(1.0)
    assert board.truth().heater_contact


def test_a_stuck_dead_man_never_drops() -> None:
    board = Board(tempering_oven())
    on(board, 5)
    flaw(board, "dead-man-stuck@0")
    board.step(1.0)
    for _ in range(60):
        board.step(1.0)
    assert flows(board)


@pytest.mark.parametrize(("coils", "expected"), [((1, 1), True), ((1, 0), False), ((0, 1), False)])
def test_relay_and_contactor_are_in_series(coils: tuple[int, int], expected: bool) -> None:
    board = Board(tempering_oven())
    board.write("holding", 0, 60)
    for register, value in enumerate(coils):
        board.write("coil", register, value)
    assert flows(board) is expected
    assert board.read("discrete", 1) == int(expected)


def test_without_a_contactor_the_relay_decides() -> None:
    board = Board(tempering_oven(), contactor=False)
    board.write("holding", 0, 60)
    board.write("coil", 0, 1)
    assert flows(board)


def test_welded_relay_is_cut_by_the_contactor_and_not_when_that_is_welded_too() -> None:
    board = Board(tempering_oven())
    on(board)
    flaw(board, "relay-welded@0")
    board.write("coil", 0, 0)
    assert flows(board)
    board.write("coil", 1, 0)
    assert not flows(board)
    flaw(board, "contactor-welded@0")
    assert flows(board)


def test_half_wave_passes_half_when_off() -> None:
    board = Board(tempering_oven())
    on(board)
    flaw(board, "half-wave@0")
    board.step(1.0)
    assert board.share == 1.0
    board.write("coil", 0, 0)
    board.step(1.0)
    assert board.share == 0.5


def test_half_wave_settles_where_the_demo_oven_settles() -> None:
    """An oven at zero command with a half-wave fault settles near 251 degC by its nameplate (worked)."""
    board = Board(tempering_oven())
    flaw(board, "half-wave@0")
    flaw(board, "contactor-welded@0")
    for _ in range(6 * 3600):
        board.step(1.0)
    assert 220.0 < board.truth().place_c < 290.0


def test_dead_element_and_low_supply_cost_power() -> None:
    board = Board(tempering_oven())
    on(board)
    board.step(1.0)
    full_w = board.truth().heat_w
    flaw(board, "element-dead@0:0.5")
    board.step(1.0)
    assert board.truth().heat_w == pytest.approx(full_w / 2, rel=0.01)
    flaw(board, "supply-factor@0:0.9")
    board.step(1.0)
    assert board.truth().heat_w == pytest.approx(full_w / 2 * 0.81, rel=0.01)
    assert board.read("input", 6) == 2070
    assert board.read("input", 7) == pytest.approx(board.truth().heat_w / 207.0 * 100, abs=1)


def test_limit_opens_by_itself_stays_open_and_is_reset_by_hand() -> None:
    board = Board(tempering_oven(), limit_c=100.0, dead_man=False)
    board.write("coil", 1, 1)
    board.write("coil", 0, 1)
    for _ in range(1500):
        board.step(1.0)
    assert board.read("discrete", 4) == 1
    assert board.truth().peak_place_c < 125.0
    for _ in range(3 * 3600):
        board.step(1.0)
    assert not flows(board)
    board.reset_limit()
    assert flows(board)


def test_a_bridged_limit_cuts_nothing() -> None:
    board = Board(tempering_oven(), limit_c=100.0, dead_man=False)
    flaw(board, "limit-bridged@0")
    board.write("coil", 1, 1)
    board.write("coil", 0, 1)
    for _ in range(1500):
        board.step(1.0)
    assert board.truth().peak_place_c > 200.0
    assert board.read("discrete", 4) == 1


def test_door_switch_in_the_circuit() -> None:
    board = Board(tempering_oven(), door_cuts=True)
    on(board)
    assert flows(board)
    board.open_door(True)
    assert not flows(board)
    assert board.read("discrete", 0) == 1


def test_an_open_door_cools_the_furnace_fast() -> None:
    board = Board(hardening_furnace())
    on(board)
    while board.truth().place_c < 830.0:
        board.write("holding", 0, 60)
        board.step(1.0)
    board.write("coil", 0, 0)
    board.open_door(True)
    before_c = board.truth().place_c
    board.step(10.0)
    assert before_c - board.truth().place_c > 10.0


def test_duty_is_shared_out_over_its_window() -> None:
    board = Board(tempering_oven())
    board.write("coil", 1, 1)
    board.write("holding", 0, 60)
    board.write("coil", 1, 1)
    board.write("holding", 1, 300)
    shares = []
    for _ in range(50):
        board.step(1.0)
        shares.append(board.share)
    assert sum(shares) == pytest.approx(15.0)
    assert set(shares) == {0.0, 1.0}


def test_pulse_lasts_as_long_as_it_says() -> None:
    board = Board(tempering_oven())
    board.write("holding", 0, 60)
    board.write("coil", 1, 1)
    board.write("holding", 2, 25)
    for _ in range(100):
        board.step(0.1)
    assert board.truth().energy_j == pytest.approx(2.5 * 1200, rel=0.01)


def test_follower_holds_its_set_point() -> None:
    board = Board(tempering_oven(), follower=True, dead_man=False, contactor=False)
    board.write("holding", 3, 1800)
    assert board.read("holding", 3) == 1800
    for _ in range(3 * 3600):
        board.step(1.0)
    assert board.truth().place_c == pytest.approx(180.0, abs=2.0)
    board.off()
    assert not flows(board)


def test_reset_in_mid_run_boots_off() -> None:
    board = Board(tempering_oven())
    on(board)
    board.step(5.0)
    flaw(board, "board-reset@0")
    assert [board.read("coil", 0), board.read("coil", 1), board.read("holding", 0)] == [0, 0, 0]


def test_a_board_that_boots_on_heats_until_somebody_says_off() -> None:
    board = Board(tempering_oven())
    flaw(board, "boots-on@0")
    assert not flows(board)
    flaw(board, "board-reset@0")
    for _ in range(100):
        board.step(1.0)
    assert flows(board)
    board.write("coil", 0, 0)
    assert not flows(board)


def test_a_stray_writer_switches_on() -> None:
    board = Board(tempering_oven())
    flaw(board, "stray-on@0")
    assert flows(board)
    assert board.read("coil", 0) == 1


def test_chatter_is_seen_at_the_live_contact() -> None:
    board = Board(tempering_oven())
    on(board)
    flaw(board, "relay-chatter@0")
    seen = []
    for _ in range(40):
        board.step(1.0)
        seen.append(board.read("discrete", 1))
    assert sum(a != b for a, b in pairwise(seen)) > 6


def test_power_cut_is_dark_and_boots_off() -> None:
    board = Board(tempering_oven())
    on(board)
    board.schedule([parse_fault("power-cut@10~30s")])
    board.step(20.0)
    assert not board.truth().heater_contact
    with pytest.raises(NoAnswer):
        board.read("coil", 0)
    board.step(25.0)
    assert board.read("coil", 0) == 0


def test_registers() -> None:
    board = Board(tempering_oven(), speed=20.0)
    board.load(Part(section_mm=5, at_c=20.0))
    board.step(1.0)
    assert board.read("holding", 9000) == 0x5350
    assert board.read("holding", 9001) == 20
    assert board.read("holding", 100) == 4242
    assert board.read("input", 3) == pytest.approx(200, abs=3)
    assert board.read("input", 4) == 200
    assert board.read("input", 2) == 250
    assert board.read("input", 6) == 2300
    for table, register in (("input", 9), ("coil", 4), ("discrete", 5), ("holding", 50), ("input", -1)):
        with pytest.raises(NoSuchRegister):
            board.read(table, register)
    with pytest.raises(NoSuchRegister):
        board.write("holding", 100, 1)
    with pytest.raises(NoSuchRegister):
        board.write("input", 0, 1)
    with pytest.raises(BadValue):
        board.write("holding", 1, 1001)


def test_negative_temperatures_are_twos_complement() -> None:
    board = Board(tempering_oven())
    flaw(board, "sensor-offset@0:-50")
    board.step(1.0)
    assert board.count == pytest.approx(-300, abs=15)
    assert board.read("input", 0) == board.count + 0x10000


def test_noise_and_steps_of_the_converter() -> None:
    board = Board(tempering_oven(), noise_k=0.3, resolution_k=0.25)
    counts = []
    for _ in range(2000):
        board.step(1.0)
        counts.append(board.count)
    assert all(round(c / 2.5) * 2.5 == pytest.approx(c, abs=0.51) for c in counts)
    mean = sum(counts) / len(counts)
    spread = (sum((c - mean) ** 2 for c in counts) / len(counts)) ** 0.5
    assert spread == pytest.approx(3.0, rel=0.25)
    assert board.counter == 2000


def test_hung_module_and_frozen_value() -> None:
    for text, runs_on in (("sensor-frozen@5", True), ("sensor-hung@5", False)):
        board = Board(tempering_oven())
        on(board)
        board.schedule([parse_fault(text)])
        board.step(6.0)
        held, counter = board.count, board.counter
        for _ in range(50):
            board.step(1.0)
        assert board.count == held
        assert (board.counter > counter) is runs_on


# Signatures of a K couple wired wrongly, terminals at 25 degC: worked from the ITS-90 tables.
@pytest.mark.parametrize(
    ("fault", "true_c", "shown_c"),
    [
        ("sensor-reversed", 100.0, -56.0),
        ("sensor-reversed", 150.0, -120.0),
        ("sensor-reversed-twice:45", 830.0, 790.1),
        ("sensor-copper:60", 830.0, 795.0),
        ("sensor-k-as-j", 1154.0, 830.0),
        ("sensor-j-as-k", 628.0, 830.0),
        ("sensor-fahrenheit", 20.0, 68.0),
        ("sensor-converted-twice", 830.0, 443.3),
        ("sensor-scale:0.1", 830.0, 83.0),
        ("cold-junction-dead", 830.0, 805.0),
        ("sensor-short", 830.0, 25.0),
    ],
)
def test_what_a_wrong_sensor_shows(fault: str, true_c: float, shown_c: float) -> None:
    board = Board(hardening_furnace(), noise_k=0.0)
    board.plant.sensor.sheath_c = board.plant.sensor.junction_c = true_c
    name, _, value = fault.partition(":")
    flaw(board, f"{name}@0" + (f":{value}" if value else ""))
    board.step(0.001)
    assert board.count / 10 == pytest.approx(shown_c, abs=1.5)


def test_drift_grows_from_where_it_began_whatever_else_happens() -> None:
    board = Board(tempering_oven(), noise_k=0.0)
    board.schedule([parse_fault("sensor-drift@1h:-6"), parse_fault("door-open@2h~1min")])
    board.step(3600.0)
    assert board.count == pytest.approx(200, abs=3)
    board.step(2 * 3600.0)
    assert board.count == pytest.approx(200 - 120, abs=3)


def test_displaced_sensor_drifts_away_within_half_a_minute() -> None:
    board = Board(hardening_furnace(), noise_k=0.0)
    board.plant.sensor.sheath_c = board.plant.sensor.junction_c = 830.0
    board.plant.wall.face_c = board.plant.air_c = 830.0
    flaw(board, "sensor-displaced@0:60")
    shown = []
    for _ in range(60):
        board.step(1.0)
        shown.append(board.count / 10)
    assert shown[0] > 700.0
    assert shown[30] < 150.0
    assert shown[-1] == pytest.approx(60.0, abs=10.0)


def test_spoiled_lines_in_process() -> None:
    board = Board(tempering_oven())
    for text, error in (
        ("replies-silent", NoAnswer),
        ("replies-late", NoAnswer),
        ("replies-damaged", DamagedAnswer),
        ("replies-echoed", DamagedAnswer),
        ("replies-other-address", DamagedAnswer),
    ):
        fault = parse_fault(f"{text}@0")
        board.begin(fault)
        with pytest.raises(error):
            board.read("input", 0)
        board.end(fault)
    board.read("input", 0)


def test_a_lost_reply_has_acted_and_an_echo_has_not() -> None:
    board = Board(tempering_oven())
    flaw(board, "replies-lost@0")
    with pytest.raises(NoAnswer):
        board.write("coil", 2, 1)
    assert board.horn is True
    flaw(board, "replies-echoed@0")
    board.write("coil", 3, 1)
    assert board.lamp is False
