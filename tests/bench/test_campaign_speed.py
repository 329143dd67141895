"""How many whole six-hour heats a second the campaign does, by processor time; printed, not asserted.

python -m pytest tests/bench/test_campaign_speed.py -s -m on_demand

Processor time of one process; "on two cores" is twice that. Other work on the machine makes it longer, so
each piece of a heat is run some times and counts with the shortest.
"""

import time
from itertools import pairwise

import pytest

from kilnctl.heat.job import Outcome
from kilnctl.heat.runner import Runner
from kilnctl.rehearsal.campaign import Scenario, Task, heat_of
from kilnctl.rehearsal.judge import judge
from tests.faults.scenarios import LONG, OVENS, learned_text, oven_text

WAYS = (("pid", False), ("pid", True), ("model", False), ("model", True))
TIMES, PIECE_S = 3, 20.0


def seconds(scenario: Scenario) -> tuple[float, float, str]:
    """Return the length of the heat, its processor time with set-up and verdict, and how it ended."""
    tries = [timed(scenario) for _ in range(TIMES)]
    pieces = zip(*(taken_s for taken_s, _ in tries), strict=True)
    outcome = tries[0][1]
    return float(outcome.summary["duration_s"]), sum(min(piece) for piece in pieces), outcome.outcome


def timed(scenario: Scenario) -> tuple[list[float], Outcome]:
    """Return the processor time of each piece of one heat, and the outcome."""
    marks = [time.process_time()]

    def mark(runner: Runner) -> None:
        if runner.now.elapsed_s % PIECE_S == 0.0:
            marks.append(time.process_time())

    rehearsal, watch = heat_of(Task(0, scenario), mark)
    outcome = rehearsal.run()
    judge(0, rehearsal, outcome, watch)
    marks.append(time.process_time())
    return [after - before for before, after in pairwise(marks)], outcome


@pytest.mark.on_demand
def test_six_hour_heats_a_second() -> None:
    heads = ("oven", "steered by", "hours", "us/tick", "s/six hours", "heats/s, two cores (asked 2)")
    print("\n{:18s} {:14s} {:>5s} {:>8s} {:>12s} {:>29s}".format(*heads))
    for oven in OVENS:
        for controller, known in WAYS:
            scenario = Scenario(
                oven_text(oven, "bundled", controller), LONG[oven], learned_text(oven) if known else ""
            )
            length_s, took_s, outcome = seconds(scenario)
            six_s = took_s / length_s * 6 * 3600.0
            what = f"{controller}{', learned' if known else ''}"
            tick_us, rate = took_s / length_s * 1e6, 2.0 / six_s
            hours = length_s / 3600
            print(f"{oven:18s} {what:14s} {hours:5.1f} {tick_us:8.0f} {six_s:12.2f} {rate:29.2f}  {outcome}")
