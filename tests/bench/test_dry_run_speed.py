"""How many times faster than real time a whole rehearsal is: ratios in one run, printed, not asserted.

python -m pytest tests/bench/test_dry_run_speed.py -s -m on_demand
"""

import itertools
import time

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.heat.job import Job
from kilnctl.heat.runner import Runner
from kilnctl.rehearsal.dry_run import plant_for, rehearse
from kilnctl.treatment.job_file import load_job

JOBS = (("gouge-o1-temper", "tempering-oven"), ("drawknife-5160-normalise", "hardening-furnace"))


def times_real(job: str, oven_name: str, controller: str) -> tuple[float, float, str]:
    oven = load_oven(bundled("ovens") / f"{oven_name}.toml").model_copy(update={"controller": controller})
    plan = load_job(job, oven)
    rehearsal = rehearse(oven, Job(plan.profile))
    start_s = time.perf_counter()
    outcome = rehearsal.run()
    took_s = time.perf_counter() - start_s
    duration_s = float(outcome.summary["duration_s"])
    return duration_s, duration_s / took_s, outcome.outcome


def plant_alone(oven_name: str, seconds: int) -> float:
    """The simulated oven without any controller: what the rest is compared with."""
    plant = plant_for(load_oven(bundled("ovens") / f"{oven_name}.toml"), 0)
    start_s = time.perf_counter()
    for second in range(seconds):
        plant.step(1.0 if second % 2 else 0.0, 1.0)
    return seconds / (time.perf_counter() - start_s)


@pytest.mark.on_demand
def test_dry_run_speed() -> None:
    print(f"\n{'job':28s} {'path':6s} {'hours':>6s} {'x real time':>12s} {'plant alone':>12s} {'asked':>8s}")
    for job, oven_name in JOBS:
        alone = plant_alone(oven_name, 20_000)
        for controller, asked in (("pid", 10_000), ("model", 500)):
            duration_s, speed, outcome = times_real(job, oven_name, controller)
            hours = duration_s / 3600
            print(f"{job:28s} {controller:6s} {hours:6.1f} {speed:12.0f} {alone:12.0f} {asked:8d}  {outcome}")


@pytest.mark.on_demand
def test_cost_per_tick_does_not_grow_with_the_length_of_the_run() -> None:
    oven = load_oven(bundled("ovens") / "tempering-oven.toml")
    plan = load_job("gouge-o1-temper", oven)
    marks: list[tuple[float, float]] = []

    def watch(runner: Runner) -> None:
        if runner.now.elapsed_s % 3600.0 == 0.0:
            marks.append((runner.now.elapsed_s, time.perf_counter()))

    rehearse(oven, Job(plan.profile), on_tick=watch).run()
    hours = [(b[1] - a[1]) / 3600 * 1e6 for a, b in itertools.pairwise(marks)]
    print("\nmicroseconds per tick, hour by hour:", " ".join(f"{us:.0f}" for us in hours))
