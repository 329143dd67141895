"""How many machine instructions a tick takes, counted by valgrind: the same number on a busy machine.

    python -m tests.bench.instructions [--compiled] [--oven hardening-furnace] [--first 1200] [--ticks 200]

Needs valgrind (its tool callgrind, which counts between `callgrind_control -i on` and `off`). Half a minute
for each line. Two sources are compared by running it in both. `--compiled` needs a build of this source.
"""

import argparse
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.bench.six_hours import WAYS

OVENS = ("tempering-oven", "hardening-furnace")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--compiled", action="store_true")
    parser.add_argument("--oven", choices=OVENS, default=OVENS[0])
    parser.add_argument("--first", type=int, default=1200, help="the tick from which they are counted")
    parser.add_argument("--ticks", type=int, default=200)
    parser.add_argument("--way", type=int, help="heat this way and count; for the runs that valgrind watches")
    asked = parser.parse_args()
    if asked.way is not None:
        heat(asked)
        return 0
    for number, (controller, known) in enumerate(WAYS):
        what = f"{controller}{', learned' if known else ''}"
        print(
            f"{what:16s} {counted(number, sys.argv[1:]) / asked.ticks:12,.0f} instructions a tick", flush=True
        )
    return 0


def counted(way: int, words: list[str]) -> int:
    """Return the instructions of the ticks that one way of steering was watched for."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "counts"
        tool = ("valgrind", "--tool=callgrind", "--instr-atstart=no", f"--callgrind-out-file={out}")
        again = (sys.executable, "-m", "tests.bench.instructions", *words, "--way", str(way))
        environ = {**os.environ, "PYTHONHASHSEED": "0", "OPENBLAS_NUM_THREADS": "1"}
        subprocess.run([*tool, *again], check=True, env=environ, capture_output=True)
        return max(map(int, re.findall(r"^(?:summary|totals): (\d+)", out.read_text(), re.MULTILINE)))


def heat(asked: argparse.Namespace) -> None:
    """Heat until the last tick that is counted; valgrind is told when to begin and when to end."""
    from kilnctl.rehearsal import compiled

    assert not asked.compiled or compiled.use(), "python -m kilnctl.rehearsal.compiling"
    from kilnctl.heat.runner import Runner
    from kilnctl.rehearsal.campaign import Scenario, Task, heat_of
    from tests.faults.scenarios import LONG, learned_text, oven_text

    ticks = 0

    def look(runner: Runner) -> None:
        nonlocal ticks
        ticks += 1
        if ticks in (asked.first, asked.first + asked.ticks):
            way = "on" if ticks == asked.first else "off"
            subprocess.run(
                ["callgrind_control", "-i", way, str(os.getpid())], check=True, capture_output=True
            )
        if ticks == asked.first + asked.ticks:
            runner.off("counted")

    (controller, known), oven = WAYS[asked.way], asked.oven
    text, model = oven_text(oven, "bundled", controller), learned_text(oven) if known else ""
    heat_of(Task(0, Scenario(text, LONG[oven], model)), look)[0].run()


if __name__ == "__main__":
    sys.exit(main())
