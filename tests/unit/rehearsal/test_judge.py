"""The judge must find what is wrong: each complaint is provoked once, and what it excuses is named."""

from dataclasses import replace

import pytest

from kilnctl.rehearsal.campaign import Scenario, Task, heat_of, run_one
from kilnctl.rehearsal.expected import EXPECTED
from kilnctl.rehearsal.hazards import COUNT, ELSEWHERE, page, seen
from kilnctl.rehearsal.judge import MARGIN_K, Verdict, judge
from tests.faults.scenarios import oven_text

OVEN = "tempering-oven"
# A short heat on a warm oven: a soak of ten minutes, then off.
SOAK = """
name = "a short soak (invented)"
[[segment]]
kind = "soak"
at = "205 C"
time = "12min"
[[segment]]
kind = "cool"
to = "200 C"
at_most = "1h"
"""
SPANS = ((0.0, 900.0), (900.0, 1000.0))
WARM = Scenario(oven_text(OVEN, "bundled", "pid"), SOAK, start_c=190.0, spans=SPANS)
FULL = replace(WARM, oven=oven_text(OVEN, "full", "pid"))
SOAK_S = 400  # in the soak


def without_interlocks(*faults: str) -> Verdict:
    rehearsal, watch = heat_of(Task(1, WARM, faults=faults))
    runner = rehearsal.runner
    runner.station = replace(runner.station, interlocks=())
    return judge(1, rehearsal, runner.run(), watch)


@pytest.mark.slow
def test_a_program_without_interlocks_is_found_unsafe() -> None:
    verdict = without_interlocks(f"sensor-short@{SOAK_S}s")
    assert verdict.failed
    assert "allowed" in verdict.unsafe
    assert verdict.late
    assert verdict.outcome == "stopped"  # the reading never reaches its goal: the rehearsal's time is over


@pytest.mark.slow
def test_heat_that_goes_on_after_the_end_is_unsafe() -> None:
    welded = heat_of(Task(1, WARM, faults=("contactor-welded@0s", f"relay-welded@{SOAK_S}s")))[1].faults
    rehearsal, watch = heat_of(Task(1, WARM))
    rehearsal.board.schedule(welded)
    verdict = judge(1, rehearsal, rehearsal.run(), watch)
    assert verdict.cause == "heat_without_demand"
    assert verdict.unsafe == "heat flows after the end"


@pytest.mark.slow
def test_with_both_switches_welded_the_limit_is_left_and_nobody_calls_it_off() -> None:
    rehearsal, watch = heat_of(Task(1, WARM, faults=("contactor-welded@0s", f"relay-welded@{SOAK_S}s")))
    outcome = rehearsal.run()
    assert not outcome.heat_off
    assert not judge(1, rehearsal, outcome, watch).unsafe
    assert "contact" in judge(1, rehearsal, replace(outcome, heat_off=True), watch).unsafe
    for _ in range(3600):
        rehearsal.board.step(1.0)
    assert rehearsal.board.limit_open
    assert rehearsal.board.truth().peak_place_c <= rehearsal.station.oven.limit_c + MARGIN_K


@pytest.mark.slow
def test_a_small_error_is_excused_only_where_no_second_sensor_sees_it() -> None:
    fault = ("sensor-offset@0s:-20",)  # later its step would be seen
    alone, two = run_one(Task(1, WARM, faults=fault)), run_one(Task(1, FULL, faults=fault))
    assert (alone.outcome, alone.seen, alone.failed) == ("complete", False, False)
    assert "a soak was" in alone.untrue
    assert "reference check" in alone.stands_in
    assert (two.cause, two.seen, two.stands_in, two.failed) == ("two_sensors", True, "", False)


@pytest.mark.slow
def test_where_software_is_blind_the_independent_limit_keeps_the_truth_within_the_margin() -> None:
    verdict = run_one(Task(1, WARM, faults=("sensor-k-as-j@0s",)))
    assert not verdict.seen
    assert 240.0 < verdict.peak_c <= 260.0 + MARGIN_K
    assert not verdict.unsafe


@pytest.mark.slow
def test_a_trip_before_the_fault_is_a_false_one_and_another_cause_is_told() -> None:
    rehearsal, watch = heat_of(Task(1, WARM, faults=("sensor-open@1000s",)))
    rehearsal.board.schedule(heat_of(Task(1, WARM, faults=("sensor-noise@300s",)))[1].faults)
    early = judge(1, rehearsal, rehearsal.run(), watch)
    assert early.false_trip.startswith("sensor_")
    rehearsal, watch = heat_of(Task(1, WARM, faults=("smoke@290s",)))
    rehearsal.board.schedule(heat_of(Task(1, WARM, faults=("sensor-noise@300s",)))[1].faults)
    assert judge(1, rehearsal, rehearsal.run(), watch).other_cause


@pytest.mark.slow
def test_a_lost_sample_is_unsafe() -> None:
    rehearsal, watch = heat_of(Task(1, WARM, faults=("sensor-open@300s",)))
    outcome = rehearsal.run()
    rehearsal.runner.recorder.acknowledged -= 1
    assert "ticks" in judge(1, rehearsal, outcome, watch).unsafe


def test_every_row_without_a_number_is_harmless_or_has_a_safeguard() -> None:
    for key, row in EXPECTED.items():
        assert row.causes or row.stands_in or not row.lies, key
        assert row.stands_in or not (row.must and row.needs and row.lies), key
        assert row.asked or row.stands_in, key


def test_all_79_hazards_are_on_the_page_and_every_test_that_it_names_is_there(request) -> None:
    text = page([], "")
    assert [n for n in range(1, COUNT + 1) if f"| H{n:02d} |" not in text] == []
    tests = request.config.rootpath / "tests"
    for _, test in ELSEWHERE.values():
        if test:
            name, _, function = test.partition("::")
            assert f"def {function}" in (tests / name).read_text(encoding="utf-8"), test


def test_the_row_of_a_fault_tells_median_and_worst() -> None:
    def heat(found_s: float | None, seen: bool = True) -> Verdict:
        cause = "" if found_s is None else "sensor_lost"
        return Verdict(
            1, OVEN, ("sensor-open@1s",), ("sensor-open",), "soak", "", cause, 20.0, seen, 20.0, found_s
        )

    row = seen([heat(1.0), heat(2.0), heat(9.0), heat(None, seen=False)], "sensor-open")
    assert (row.heats, row.cut, row.median_s, row.worst_s, row.blind) == (4, 3, 2.0, 9.0, 1)
