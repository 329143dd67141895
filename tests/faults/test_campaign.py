"""A seeded sample of the campaign: every fault twice on both ovens, judged on the simulator's truth."""

from concurrent.futures import Executor, ProcessPoolExecutor

import pytest

from kilnctl.config.home import bundled
from kilnctl.rehearsal.campaign import Task, drawn_fault, run_all, run_one, summary, tasks
from kilnctl.rehearsal.expected import EXPECTED
from simulator.faults import FAULTS

SHORT = """
name = "short heat (invented)"
section = "6 mm"
[[segment]]
kind = "ramp"
to = "150 C"
[[segment]]
kind = "soak"
at = "150 C"
time = "10min"
[[segment]]
kind = "cool"
to = "140 C"
at_most = "1h"
"""
OVENS = ("tempering-oven", "hardening-furnace")
LENGTH_S = {"tempering-oven": 2000.0, "hardening-furnace": 2600.0}
ROUNDS = 2


def oven_text(name: str, controller: str = "pid") -> str:
    text = (bundled("ovens") / f"{name}.toml").read_text(encoding="utf-8")
    return text.replace("use = ", f'controller = "{controller}"\nuse = ', 1)


def sample(oven: str, rounds: int = ROUNDS) -> list[Task]:
    return tasks(oven_text(oven), SHORT, LENGTH_S[oven], range(rounds * len(EXPECTED)))


@pytest.mark.slow
@pytest.mark.parametrize("oven", OVENS)
def test_no_unsafe_end_and_no_wrong_complete(oven: str) -> None:
    verdicts = run_all(sample(oven))
    found = summary(verdicts)
    assert (found["unsafe"], found["wrong_complete"]) == (0, 0), found["failed_seeds"]
    assert found["runs"] == ROUNDS * len(EXPECTED)
    assert sum(bool(v.cause) for v in verdicts) > found["runs"] / 2


def test_a_failure_is_replayed_from_its_seed() -> None:
    task = sample("tempering-oven")[5]
    assert run_one(task) == run_one(task)


def test_the_executor_gives_the_same_verdicts() -> None:
    few = sample("tempering-oven")[:4]
    pool: Executor
    with ProcessPoolExecutor(2) as pool:
        assert run_all(few, pool) == run_all(few)


def test_every_row_names_a_fault_of_the_simulator_and_is_drawn() -> None:
    assert set(EXPECTED) <= set(FAULTS)
    assert {drawn_fault(seed, 1000.0).partition("@")[0] for seed in range(len(EXPECTED))} == set(EXPECTED)
