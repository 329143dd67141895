"""How many whole six-hour heats a second the campaign does, by processor time; printed, not asserted.

python -m pytest tests/bench/test_campaign_speed.py -s -m on_demand

Processor time of one process, so that a busy machine disturbs it little; "on two cores" is twice that.
"""

import time

import pytest

from kilnctl.rehearsal.campaign import Scenario, Task, heat_of
from kilnctl.rehearsal.judge import judge
from tests.faults.scenarios import LONG, OVENS, learned_text, oven_text

WAYS = (("pid", False), ("pid", True), ("model", False), ("model", True))
TIMES = 1


def seconds(scenario: Scenario) -> tuple[float, float, str]:
    """Return the length of the heat, the least processor time of a few tries, and how it ended."""
    least = float("inf")
    for seed in range(TIMES):
        start_s = time.process_time()
        rehearsal, watch = heat_of(Task(seed, scenario))
        outcome = rehearsal.run()
        judge(seed, rehearsal, outcome, watch)
        least = min(least, time.process_time() - start_s)
    return float(outcome.summary["duration_s"]), least, outcome.outcome


@pytest.mark.on_demand
def test_six_hour_heats_a_second() -> None:
    heads = ("oven", "steered by", "hours", "us/tick", "heats/s, two cores (asked 2)")
    print("\n{:18s} {:14s} {:>5s} {:>8s} {:>29s}".format(*heads))
    for oven in OVENS:
        for controller, known in WAYS:
            scenario = Scenario(
                oven_text(oven, "bundled", controller), LONG[oven], learned_text(oven) if known else ""
            )
            length_s, took_s, outcome = seconds(scenario)
            rate = 2.0 * length_s / (6 * 3600.0) / took_s
            what = f"{controller}{', learned' if known else ''}"
            tick_us = took_s / length_s * 1e6
            print(f"{oven:18s} {what:14s} {length_s / 3600:5.1f} {tick_us:8.0f} {rate:29.2f}  {outcome}")
