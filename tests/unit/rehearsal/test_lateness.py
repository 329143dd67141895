"""Whose seconds are they? What a number judges where two faults come together."""

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.rehearsal.detection_table import number_for
from kilnctl.rehearsal.dry_run import parse_faults
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
