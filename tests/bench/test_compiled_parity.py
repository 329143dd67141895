"""Forty faulted heats, as Python and compiled: record and verdict, heat by heat; and the pace of both.

python -m pytest tests/bench/test_compiled_parity.py -s -m on_demand

Makes the build where there is none of this source; that takes some minutes.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from kilnctl.rehearsal import compiled, compiling

TOP = Path(__file__).parents[2]
HEATS = 40
RUN = f"""
import json, time
from dataclasses import asdict
from kilnctl.rehearsal import compiled
uses = compiled.use()
from kilnctl.heat import runner
from kilnctl.rehearsal.campaign import heat_of, tasks
from kilnctl.rehearsal.judge import judge
from tests.faults.scenarios import scenarios
assert uses == runner.__file__.endswith(".so")
work, start_s = tasks(scenarios(), range({HEATS})), time.process_time()
for task in work:
    rehearsal, watch = heat_of(task)
    verdict = judge(task.seed, rehearsal, rehearsal.run(), watch, task.acts)
    print(json.dumps([asdict(verdict), rehearsal.runner.heat.recorder.seal.hex()]))
print(json.dumps([uses, time.process_time() - start_s]))
"""


def heats(home: Path) -> list[list[object]]:
    environ = {**os.environ, "KILNCTL_HOME": str(home)}
    words = [sys.executable, "-c", RUN]
    said = subprocess.run(words, cwd=TOP, env=environ, check=True, capture_output=True, text=True).stdout
    return [json.loads(line) for line in said.splitlines()]


@pytest.mark.on_demand
def test_forty_faulted_heats_are_the_same(tmp_path: Path) -> None:
    if why := compiling.lacking():
        pytest.skip(why)
    if not compiled.build_folder().is_dir():
        compiling.make()
    *pure, (plain, pure_s) = heats(tmp_path)
    *quick, (uses, quick_s) = heats(compiled.build_folder().parents[1])
    assert not plain
    assert uses
    assert len(pure) == HEATS
    assert quick == pure
    assert isinstance(pure_s, float)
    assert isinstance(quick_s, float)
    print(f"\n{HEATS} heats: {pure_s:.1f} s of processor as Python, {quick_s:.1f} s compiled", end="")
    print(f": {pure_s / quick_s:.2f} times as fast")
