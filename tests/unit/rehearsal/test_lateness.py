"""Whose seconds are they? What a number judges where two faults come together."""

from math import inf

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.rehearsal.detection_table import number_for
from kilnctl.rehearsal.dry_run import parse_faults
from kilnctl.rehearsal.heat_watch import Exposed
from kilnctl.rehearsal.lateness import spoiled
from kilnctl.rehearsal.perturbed_ovens import warmed
from simulator.boards.board import Board
from simulator.oven.ovens import hardening_furnace

OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")


@pytest.mark.parametrize("other", ["relay-welded@9", "half-wave@9", "relay-sticky@9:0.05"])
def test_heat_through_a_bad_relay_is_not_the_strays(other: str) -> None:
    by = spoiled(parse_faults([other])[0])
    assert number_for("stray-on", OVEN, True) is not None
    assert number_for("stray-on", OVEN, True, spoils=by) is None


def test_a_stray_on_hides_no_weld() -> None:
    by = spoiled(parse_faults(["stray-on@9"])[0])
    found = number_for("relay-welded", OVEN, True, spoils=by)
    assert found is not None
    assert found.within_s == 2.0


def test_a_count_ten_times_too_large_reads_as_itself_at_728_c() -> None:
    """Sixteen bits: ten times T and T are the same count where 9 T is 65536 counts of a tenth of a kelvin."""
    board = Board(warmed(hardening_furnace(), 65536 / 90), noise_k=0.0)
    board.begin(parse_faults(["sensor-scale@0:10"])[0])
    board.step(1.0)
    true_c = board.plant.sensor.junction_c
    assert abs(true_c - 65536 / 90) < 10.0
    assert board.count * 0.1 - true_c == pytest.approx(9.0 * (true_c - 65536 / 90), abs=2.0)


def judged(fault: str, learned: bool = True, switch: bool = True, **began: float) -> float | None:
    """Return the seconds that count for a fault that began so."""
    signal = OVEN.signal if switch else OVEN.signal.model_copy(update={"door_open": None})
    oven = OVEN.model_copy(update={"signal": signal})
    exposed = Exposed(parse_faults([fault])[0], inf, "ramp", **began)
    row = number_for(fault.replace("@9", ""), oven, learned, exposed.places(oven))
    return None if row is None else row.within_s


def test_half_an_element_has_no_number_only_where_it_was_never_seen_whole() -> None:
    assert OVEN.signal.supply_v is None
    assert judged("element-dead@9:0.5", heated_s=359.0) == inf
    assert judged("element-dead@9:0.5", heated_s=360.0) == 268.0


def test_a_displaced_sensor_has_more_where_it_moves_first_or_no_switch_tells_of_the_door() -> None:
    cold = {"before_c": 25.0, "heated_s": 100.0}
    assert judged("sensor-displaced@9", **cold) == 150.0
    assert judged("sensor-short@9", **cold) == 120.0
    assert judged("sensor-displaced@9", before_c=25.0) == 120.0
    assert judged("sensor-displaced@9", switch=False, **cold) == 150.0
    assert judged("sensor-displaced@9", switch=False, before_c=25.0) == 120.0
    hot = {"before_c": 200.0, "heated_s": 100.0}
    assert judged("sensor-displaced@9", switch=False, after_step_s=100.0, **hot) == 150.0
    assert judged("sensor-displaced@9", switch=False, after_step_s=121.0, **hot) == 15.0
    assert judged("sensor-displaced@9", after_step_s=100.0, **hot) == 15.0


def test_ten_times_too_much_has_more_only_near_728_c() -> None:
    assert judged("sensor-scale@9:10", before_c=728.0, heated_s=1.0) == 300.0
    assert judged("sensor-scale@9:10", before_c=721.0, heated_s=1.0) == 10.0
