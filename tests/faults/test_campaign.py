"""A seeded sample of the campaign: 20 heats, judged against what really happened in the simulator.

The whole of it runs on demand: `python -m tests.bench.campaign`.
"""

from dataclasses import replace

import pytest

from kilnctl.rehearsal.campaign import drawn, run_one, summary, tasks
from kilnctl.rehearsal.detection_table import EXPECTED
from kilnctl.rehearsal.executor import as_they_end, pool
from simulator.boards.faults import FAULTS
from tests.faults.scenarios import scenarios

SAMPLE, PARTS = 20, 2


@pytest.mark.slow
@pytest.mark.parametrize("part", range(PARTS))
def test_no_unsafe_end_and_no_wrong_complete(part: int) -> None:
    verdicts = [run_one(task) for task in tasks(scenarios(), range(part, SAMPLE, PARTS))]
    found = summary(verdicts)
    assert found["failed_seeds"] == [], [v for v in verdicts if v.failed]
    assert found["runs"] == found["faulted"] == SAMPLE // PARTS
    assert found["cut"] > 0  # two to five of ten, by the dice; none would mean that no fault reaches a heat


@pytest.mark.slow
def test_fault_free_heats_do_not_trip() -> None:
    verdicts = [run_one(task) for task in tasks(scenarios(), range(1, 5), faulted=False)]
    by_hand = {v.seed for v in verdicts if any(act.startswith("off") for act in v.acts)}
    assert {v.seed for v in verdicts if v.outcome == "stopped"} == by_hand
    assert {(v.outcome, v.false_trip) for v in verdicts if v.seed not in by_hand} == {("complete", "")}


# Once late: the sensor out of a hot oven while no switch tells of the door, not learned and learned.
@pytest.mark.parametrize(("seed", "at_s"), [(50368, 8), (900171, 1401)])
def test_a_sensor_that_falls_out_in_an_operator_step_is_found_in_time(seed: int, at_s: int) -> None:
    found = run_one(replace(drawn(seed, scenarios()), faults=(f"sensor-displaced@{at_s}s",)))
    assert (found.outcome, found.late, found.failed) == ("tripped", "", False)
    assert found.exposed_s > 0.0


def test_another_process_gives_the_same_verdicts_and_a_failure_is_replayed_from_its_seed() -> None:
    few = tasks(scenarios(), (5, 6))
    with pool(jobs=1) as executor:
        found = {verdict.seed: verdict for verdict in as_they_end(run_one, few, executor)}
    assert [found[task.seed] for task in few] == [run_one(drawn(task.seed, scenarios())) for task in few]


def test_every_fault_of_the_simulator_has_a_row_and_is_drawn() -> None:
    assert {key.partition(":")[0] for key in EXPECTED} == set(FAULTS)
    first = [drawn(seed, scenarios()).faults[0] for seed in range(len(EXPECTED))]
    assert {text.partition("@")[0] for text in first} == set(FAULTS)
