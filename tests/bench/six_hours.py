"""How many whole six-hour heats a second the campaign does, by processor time; printed, not judged.

    python -m tests.bench.six_hours [--compiled] [--hours 6]

Processor time of one process with set-up and verdict; "on two cores" is twice that. Other work on the machine
makes it longer: read a pair of runs by their ratio. `--compiled` needs a build of this source
(`python -m kilnctl.rehearsal.compiling`).
"""

import argparse
import contextlib
import sys
import time
from typing import TYPE_CHECKING

from kilnctl.rehearsal import compiled

if TYPE_CHECKING:
    from kilnctl.rehearsal.campaign import Scenario

WAYS = (("pid", False), ("pid", True), ("model", False), ("model", True))
ASKED = {False: (1.8, 1.8, 1.2, 1.2), True: (4.0, 2.9, 2.2, 1.8)}
HEADS = ("oven", "steered by", "hours", "us/tick", "heats/s, two cores", "asked")


class _Enough(Exception):
    """The heat has gone on for long enough to be measured."""


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--compiled", action="store_true")
    parser.add_argument("--hours", type=float, default=7.0, help="stop each heat after so long")
    asked = parser.parse_args()
    if asked.compiled and not compiled.use():
        print("no compiled build of this source: python -m kilnctl.rehearsal.compiling", file=sys.stderr)
        return 2
    print("{:18s} {:14s} {:>5s} {:>8s} {:>19s} {:>6s}".format(*HEADS))
    table(asked.compiled, asked.hours * 3600.0)
    return 0


def table(quick: bool, longest_s: float) -> None:
    """Print a line for each oven and way of steering."""
    from kilnctl.rehearsal.campaign import Scenario
    from tests.faults.scenarios import LONG, OVENS, learned_text, oven_text

    timed(Scenario(oven_text(OVENS[0]), LONG[OVENS[0]]), 0.0)  # what only a first heat loads is in no pace
    for oven in OVENS:
        for (controller, known), asked in zip(WAYS, ASKED[quick], strict=True):
            text, model = oven_text(oven, "bundled", controller), learned_text(oven) if known else ""
            took_s, length_s = timed(Scenario(text, LONG[oven], model), longest_s)
            what = f"{controller}{', learned' if known else ''}"
            tick_us, rate = took_s / length_s * 1e6, 2.0 * length_s / took_s / (6 * 3600.0)
            print(
                f"{oven:18s} {what:14s} {length_s / 3600:5.1f} {tick_us:8.0f} {rate:19.2f} {asked:6.1f}",
                flush=True,
            )


def timed(scenario: "Scenario", longest_s: float) -> tuple[float, float]:
    """Return the processor time of one heat and the seconds that passed in it."""
    from kilnctl.heat.runner import Runner
    from kilnctl.rehearsal.campaign import Task, heat_of
    from kilnctl.rehearsal.judge import judge

    passed_s = 0.0

    def look(runner: Runner) -> None:
        nonlocal passed_s
        passed_s = runner.now.elapsed_s
        if passed_s >= longest_s:
            raise _Enough

    start_s = time.process_time()
    rehearsal, watch = heat_of(Task(0, scenario), look)
    with contextlib.suppress(_Enough):
        judge(0, rehearsal, rehearsal.run(), watch)
    return time.process_time() - start_s, passed_s


if __name__ == "__main__":
    sys.exit(main())
