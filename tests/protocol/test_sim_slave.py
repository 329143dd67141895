"""The simulator's slave over a real pseudo-terminal, read by minimalmodbus and by pymodbus's client."""

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import minimalmodbus
import pytest
import serial
from pymodbus.client import ModbusSerialClient

from kilnctl.cli.oven.simulate import start
from kilnctl.errors import ConfigError, UnitError
from simulator.boards.board import Board
from simulator.boards.faults import parse_fault
from simulator.oven.ovens import hardening_furnace, tempering_oven
from simulator.wire.clock_scaling import Pace
from simulator.wire.slave import serve

pytestmark = pytest.mark.real_bytes


@contextmanager
def served(link: Path, *boards: Board, speed: float = 10.0) -> Iterator[dict[int, Board]]:
    """Serve boards under the addresses 1, 2, ... in a thread."""
    stop, ready = threading.Event(), threading.Event()
    units = {i + 1: board for i, board in enumerate(boards)}
    thread = threading.Thread(target=serve, args=(units, link, speed, stop), kwargs={"ready": ready})
    thread.start()
    assert ready.wait(5)
    try:
        yield units
    finally:
        stop.set()
        thread.join(5)


@contextmanager
def master(link: Path, address: int = 1, timeout_s: float = 0.3) -> Iterator[minimalmodbus.Instrument]:
    with serial.Serial(str(link), 115200, timeout=timeout_s, exclusive=True) as port:
        yield minimalmodbus.Instrument(port, address)


def flaw(board: Board, text: str) -> None:
    board.begin(parse_fault(text + "@0"))


def test_minimalmodbus_heats_the_oven(tmp_path: Path) -> None:
    link = tmp_path / "bus"
    with served(link, Board(tempering_oven())) as units, master(link) as bus:
        assert bus.read_register(9000) == 0x5350
        assert bus.read_register(9001) == 10
        assert bus.read_register(100) == 4242
        assert abs(bus.read_register(0, 1, functioncode=4, signed=True) - 20.0) < 2.0
        bus.write_register(0, 60, functioncode=6)
        bus.write_bit(1, 1)
        bus.write_bit(0, 1)
        assert bus.read_bits(0, 4, functioncode=1) == [1, 1, 0, 0]
        time.sleep(0.2)
        assert bus.read_bit(1, functioncode=2) == 1
        assert units[1].truth().energy_j > 500.0


def test_pymodbus_client_reads_and_writes(tmp_path: Path) -> None:
    link = tmp_path / "bus"
    with served(link, Board(tempering_oven()), Board(hardening_furnace())):
        client = ModbusSerialClient(str(link), baudrate=115200, timeout=1)
        assert client.connect()
        for unit in (1, 2):
            assert client.read_holding_registers(9000, count=2, device_id=unit).registers == [0x5350, 10]
            assert client.read_input_registers(0, count=9, device_id=unit).registers[6] == 2300
        assert client.write_registers(0, [30], device_id=2).isError() is False
        assert client.write_coils(0, [True, True, False, True], device_id=2).isError() is False
        assert client.read_coils(0, count=4, device_id=2).bits[:4] == [True, True, False, True]
        assert client.read_coils(0, count=4, device_id=1).bits[:4] == [False] * 4
        assert client.read_discrete_inputs(0, count=5, device_id=1).isError() is False
        assert client.read_holding_registers(77, device_id=1).exception_code == 2
        client.close()


def test_the_dead_man_drops_the_heat_in_simulated_time(tmp_path: Path) -> None:
    link = tmp_path / "bus"
    with served(link, Board(tempering_oven())) as units, master(link) as bus:
        bus.write_register(0, 3, functioncode=6)
        bus.write_bit(1, 1)
        bus.write_bit(0, 1)
        time.sleep(0.6)
        assert bus.read_bits(0, 2, functioncode=1) == [0, 0]
        energy_j = units[1].truth().energy_j
        assert energy_j <= 1200.0 * 3.2
        bus.write_bit(0, 1)
        assert bus.read_bit(0, functioncode=1) == 0


@pytest.mark.parametrize(
    ("fault", "error"),
    [
        ("replies-silent", minimalmodbus.NoResponseError),
        ("power-cut", minimalmodbus.NoResponseError),
        ("replies-late", minimalmodbus.NoResponseError),
        ("replies-lost", minimalmodbus.NoResponseError),
        ("replies-damaged", minimalmodbus.ModbusException),
        ("replies-short", minimalmodbus.ModbusException),
        ("replies-junk", minimalmodbus.InvalidResponseError),
        ("replies-other-address", minimalmodbus.InvalidResponseError),
        ("replies-echoed", minimalmodbus.ModbusException),
        ("foreign-frames", minimalmodbus.InvalidResponseError),
    ],
)
def test_bad_lines_are_errors_for_a_reader(tmp_path: Path, fault: str, error: type[Exception]) -> None:
    link = tmp_path / "bus"
    with served(link, Board(tempering_oven())) as units, master(link, timeout_s=0.1) as bus:
        flaw(units[1], fault)
        with pytest.raises(error):
            bus.read_register(0, functioncode=4)


def test_a_lost_reply_does_not_mean_not_switched(tmp_path: Path) -> None:
    link = tmp_path / "bus"
    with served(link, Board(tempering_oven())) as units, master(link, timeout_s=0.1) as bus:
        flaw(units[1], "replies-lost")
        with pytest.raises(minimalmodbus.NoResponseError):
            bus.write_bit(2, 1)
        assert units[1].horn is True


def test_an_echo_looks_like_obedience(tmp_path: Path) -> None:
    link = tmp_path / "bus"
    with served(link, Board(tempering_oven())) as units, master(link, timeout_s=0.1) as bus:
        flaw(units[1], "replies-echoed")
        bus.write_bit(2, 1)
        assert units[1].horn is False


def test_a_late_reply_arrives_when_nobody_waits_any_more(tmp_path: Path) -> None:
    link = tmp_path / "bus"
    with served(link, Board(tempering_oven())) as units, master(link, timeout_s=0.05) as bus:
        units[1].flaws.late_s = 0.15
        with pytest.raises(minimalmodbus.NoResponseError):
            bus.read_register(0, functioncode=4)
        time.sleep(0.2)
        assert len(bus.serial.read(7)) == 7


def test_the_line_outlives_its_clients(tmp_path: Path) -> None:
    link = tmp_path / "bus"
    with served(link, Board(tempering_oven())):
        for _ in range(3):
            with master(link) as bus:
                assert bus.read_register(100) == 4242


def test_closing_takes_the_line_away(tmp_path: Path) -> None:
    link = tmp_path / "bus"
    with served(link, Board(tempering_oven())):
        port = serial.Serial(str(link), 115200, timeout=0.2)
    assert not link.is_symlink()
    with pytest.raises(OSError, match=r"."):
        port.read(1)
    port.close()


def test_a_file_in_the_way_is_not_overwritten(tmp_path: Path) -> None:
    mine = tmp_path / "notes"
    mine.write_text("keep")
    with pytest.raises(ConfigError, match="not a link"):
        start("tempering-oven", link=mine)
    assert mine.read_text() == "keep"


def test_a_stopped_process_does_not_make_time_jump() -> None:
    said: list[str] = []
    pace = Pace(60.0, 100.0, said.append)
    assert pace.passed_s(100.1) == pytest.approx(6.0)
    assert pace.passed_s(700.1) == pytest.approx(30.0)
    assert said == ["stood still for 600.0 s; the simulated time did not jump"]
    assert pace.passed_s(700.2) == pytest.approx(6.0)


def test_start_honours_address_and_speed_of_the_oven_file(tmp_path: Path) -> None:
    link = tmp_path / "bus"
    running = start("hardening-furnace", link=link, speed=20, fault=["sensor-open@0"])
    with master(link, address=2) as bus:
        assert bus.read_register(9001) == 20
        time.sleep(0.2)
        assert bus.read_register(0, functioncode=4) == 32767
    running.close()


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"oven": "no-such-oven"}, "no oven"),
        ({"oven": "tempering-oven", "speed": 0.5}, "whole number"),
        ({"oven": "tempering-oven", "fault": ["sensor-oben@1h"]}, "sensor-open"),
    ],
)
def test_bad_arguments_are_one_line(tmp_path: Path, arguments: dict, message: str) -> None:
    with pytest.raises(ConfigError, match=message) as caught:
        start(link=tmp_path / "bus", **arguments)
    assert "\n" not in str(caught.value)


def test_two_ovens_on_one_line_with_their_addresses_swapped(tmp_path: Path) -> None:
    link = tmp_path / "bus"
    running = start(
        "tempering-oven",
        also="hardening-furnace",
        link=link,
        speed=20,
        fault=["addresses-swapped@10", "sensor-open@10"],
    )
    with master(link, address=1) as one:
        assert one.read_register(0, functioncode=4) < 300
        time.sleep(0.7)
        assert one.read_register(0, functioncode=4) < 300
        one.address = 2
        assert one.read_register(0, functioncode=4) == 32767
    running.close()


def test_a_part_in_the_chamber_and_a_thickness_without_unit(tmp_path: Path) -> None:
    running = start("tempering-oven", link=tmp_path / "bus", part="6 mm")
    running.close()
    assert running.board.truth().part_core_c == pytest.approx(20.0, abs=0.5)
    with pytest.raises(UnitError, match="6 mm"):
        start("tempering-oven", link=tmp_path / "bus", part="6")


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(ConfigError, match="no folder"):
        start("tempering-oven", link=tmp_path / "nowhere" / "bus")


def test_two_ovens_with_one_address_are_refused(tmp_path: Path) -> None:
    with pytest.raises(ConfigError, match="address 1 is taken"):
        start("tempering-oven", also="tempering-oven", link=tmp_path / "bus")
