"""Faulted heats in a process of its own, in Python or compiled into a home: verdicts and records."""

import json
import os
import subprocess
import sys
from pathlib import Path

TOP = Path(__file__).parents[1]
RUN = """
import json, sys, time
from dataclasses import asdict
from kilnctl.rehearsal import compiled
uses = compiled.use()
from kilnctl.heat import runner
from kilnctl.rehearsal.campaign import heat_of, tasks
from kilnctl.rehearsal.judge import judge
from tests.faults.scenarios import scenarios
assert uses == runner.__file__.endswith(".so")
work, start_s = tasks(scenarios(), range(*map(int, sys.argv[1:]))), time.process_time()
for task in work:
    rehearsal, watch = heat_of(task)
    verdict = judge(task.seed, rehearsal, rehearsal.run(), watch, task.acts)
    print(json.dumps([asdict(verdict), rehearsal.runner.heat.recorder.seal.hex()]))
print(json.dumps([uses, time.process_time() - start_s]))
"""


def heats(home: Path, first: int, beyond: int) -> list[list[object]]:
    """Return [verdict, seal] of each seed; last whether a build was used, and the seconds of processor."""
    environ = {**os.environ, "KILNCTL_HOME": str(home)}
    words = [sys.executable, "-c", RUN, str(first), str(beyond)]
    said = subprocess.run(words, cwd=TOP, env=environ, check=True, capture_output=True, text=True).stdout
    return [json.loads(line) for line in said.splitlines()]
