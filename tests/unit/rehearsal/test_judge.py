"""The judge must find what is wrong: each complaint is provoked once, and what it excuses is named."""

from dataclasses import replace

import pytest

from kilnctl.heat.runner import Runner
from kilnctl.readings import Trip
from kilnctl.rehearsal.campaign import Scenario, Task, heat_of, run_one
from kilnctl.rehearsal.judge import PAST_LIMIT_K, Verdict, judge
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


def unguarded(runner: Runner) -> None:
    runner.heat = replace(runner.heat, station=replace(runner.heat.station, interlocks=()))


def without_interlocks(*faults: str) -> Verdict:
    rehearsal, watch = heat_of(Task(1, WARM, faults=faults))
    runner = rehearsal.runner
    unguarded(runner)
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
    assert verdict.unsafe.startswith("heat flows for ")
    assert verdict.unsafe.endswith("after the end")


@pytest.mark.slow
def test_with_both_switches_welded_the_limit_is_left_and_nobody_calls_it_off() -> None:
    both = ("contactor-welded@0s", f"relay-welded@{SOAK_S}s")
    rehearsal, watch = heat_of(Task(1, WARM, faults=both, limited=True))
    outcome = rehearsal.run()
    assert not outcome.heat_off
    assert not judge(1, rehearsal, outcome, watch).unsafe
    for _ in range(3600):
        rehearsal.board.step(1.0)
    assert rehearsal.board.limit_open
    assert rehearsal.board.truth().peak_place_c <= rehearsal.station.oven.limit_c + PAST_LIMIT_K
    verdict = run_one(Task(1, WARM, faults=both))
    assert not verdict.unsafe
    assert "allowed" in verdict.unguarded  # named where no limit is fitted


@pytest.mark.slow
def test_a_small_error_is_excused_only_where_no_second_sensor_sees_it() -> None:
    fault = ("sensor-offset@0s:-20",)  # later its step would be seen
    alone, two = run_one(Task(1, WARM, faults=fault)), run_one(Task(1, FULL, faults=fault))
    assert (alone.outcome, alone.noticeable, alone.failed) == ("complete", False, False)
    assert "a soak was" in alone.untrue
    assert "reference check" in alone.stands_in
    assert (two.cause, two.noticeable, two.stands_in, two.failed) == ("two_sensors", True, "", False)


@pytest.mark.slow
def test_where_software_is_blind_the_independent_limit_keeps_the_truth_within_the_margin() -> None:
    fault = ("sensor-k-as-j@0s",)
    verdict = run_one(Task(1, WARM, faults=fault, limited=True))
    assert not verdict.noticeable
    assert 240.0 < verdict.peak_c <= 260.0 + PAST_LIMIT_K
    assert (verdict.unsafe, verdict.unguarded) == ("", "")
    verdict = run_one(Task(1, WARM, faults=fault))
    assert verdict.unsafe == ""
    assert verdict.unguarded


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
    rehearsal.runner.heat.recorder.acknowledged -= 1
    assert "ticks" in judge(1, rehearsal, outcome, watch).unsafe


@pytest.mark.slow
@pytest.mark.parametrize(
    ("fault", "delay_s", "says"),
    [
        ("relay-welded", 2, "relay-welded for 3 s, 2 s allowed"),
        ("sensor-open", 1, "sensor-open for 3 s, 2 s allowed"),
        ("smoke", 1, "smoke for 2 s, 1 s allowed"),
    ],
)
def test_a_second_more_than_the_list_allows_is_late(fault: str, delay_s: int, says: str) -> None:
    rehearsal, watch = heat_of(Task(1, FULL, faults=(f"{fault}@{SOAK_S}s",)))
    runner, since = rehearsal.runner, []

    def later(check):
        def delayed(seen):
            verdict = check(seen)
            if isinstance(verdict, Trip):
                since.append(seen.at_s)
            return verdict if since and seen.at_s - since[0] >= delay_s else None

        return delayed

    station = runner.heat.station
    object.__setattr__(station, "checks", tuple(later(check) for check in station.checks))
    assert judge(1, rehearsal, runner.run(), watch).late == says


@pytest.mark.slow
def test_of_a_pair_each_fault_has_its_own_number_unless_the_other_takes_its_signal() -> None:
    pair = (f"relay-welded@{SOAK_S}s", f"sensor-frozen@{SOAK_S}s")
    rehearsal, watch = heat_of(Task(1, WARM, faults=pair))
    runner = rehearsal.runner
    unguarded(runner)
    assert judge(1, rehearsal, runner.run(), watch).late.count("allowed") == 2
    stuck = run_one(Task(1, WARM, faults=(f"relay-welded@{SOAK_S}s", f"live-says-off@{SOAK_S}s")))
    assert stuck.late == ""


@pytest.mark.slow
def test_26_k_past_the_plan_is_too_hot_and_25_k_are_not() -> None:
    rehearsal, watch = heat_of(Task(1, FULL, faults=(f"smoke@{SOAK_S}s",)))
    outcome = rehearsal.run()
    rehearsal.board.plant.peak_place_c = 205.0 + 24.9
    assert judge(1, rehearsal, outcome, watch).unsafe == ""
    rehearsal.board.plant.peak_place_c = 205.0 + 26.0
    assert "truly 231 °C, 230 °C allowed" in judge(1, rehearsal, outcome, watch).unsafe


@pytest.mark.slow
def test_heat_in_the_first_seconds_after_the_end_counts() -> None:
    rehearsal, watch = heat_of(Task(1, WARM))
    outcome = rehearsal.run()
    oven_io = rehearsal.station.oven_io
    heat = rehearsal.runner.heat
    station = replace(heat.station, oven_io=_NeverOff(oven_io, rehearsal.board))
    rehearsal.runner.heat = replace(heat, station=station)
    assert "s after the end" in judge(1, rehearsal, outcome, watch).unsafe


class _NeverOff:
    """I/O that switches on where it should switch off."""

    def __init__(self, oven_io, board) -> None:
        self._oven_io, self._board = oven_io, board

    def scan(self, at_s: float):
        return self._oven_io.scan(at_s)

    def off(self) -> bool:
        self._board.feed(10)
        self._board.heater = self._board.contactor = True
        return True


@pytest.mark.slow
def test_heat_through_an_open_door_is_unsafe() -> None:
    rehearsal, watch = heat_of(Task(1, WARM, faults=(f"door-open@{SOAK_S}s",)))
    real = rehearsal.station.oven_io.scan
    rehearsal.station.oven_io.scan = lambda at_s: replace(real(at_s), door_open=False)
    assert "with the door open" in judge(1, rehearsal, rehearsal.run(), watch).unsafe


@pytest.mark.slow
def test_complete_with_a_soak_6_k_off_is_untrue_with_a_fault_that_lies_and_wrong_without_one() -> None:
    fault = ("cold-junction-off@0s:6",)
    verdict = run_one(Task(1, WARM, faults=fault))
    assert (verdict.outcome, verdict.wrong) == ("complete", "")
    assert verdict.untrue.startswith("a soak was -")
    rehearsal, watch = heat_of(Task(1, WARM))
    rehearsal.board.schedule(heat_of(Task(1, WARM, faults=fault))[1].faults)
    rehearsal.board.step(1.0)
    assert judge(1, rehearsal, rehearsal.run(), watch).wrong.startswith("complete, but a soak was -")


@pytest.mark.slow
def test_off_by_hand_and_a_clock_that_is_set() -> None:
    verdict = run_one(Task(1, WARM, acts=(f"off@{SOAK_S}",)))
    assert (verdict.outcome, verdict.failed) == ("stopped", False)
    verdict = run_one(Task(1, WARM, acts=(f"clock@{SOAK_S}:-3600",)))
    assert (verdict.outcome, verdict.failed, verdict.untrue) == ("complete", False, "")
