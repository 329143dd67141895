"""Wherever a compiler and processors are: a compiled build has the records and the verdicts of Python.

Built without optimising, which is quicker and changes no rounding. That takes four minutes of one
processor, so it waits for a machine that has some to spare, or for `KILNCTL_COMPILED_HEATS=1`; forty heats
of the build as it is used are tests/bench/test_compiled_parity.py, on demand.
"""

import os
from pathlib import Path

import pytest
from compiled_heats import heats

from kilnctl.rehearsal import compiling

FIRST, BEYOND = 100, 112  # a dozen kinds of fault
PROCESSORS = 4


@pytest.mark.slow
@pytest.mark.begins_first
def test_a_dozen_faulted_heats_are_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    if why := compiling.lacking():
        pytest.skip(why)
    if len(os.sched_getaffinity(0)) < PROCESSORS and not os.environ.get("KILNCTL_COMPILED_HEATS"):
        pytest.skip(
            f"it takes four minutes of one of {PROCESSORS} processors: KILNCTL_COMPILED_HEATS=1 runs it here"
        )
    tmp_path.chmod(0o700)
    pure = heats(tmp_path, FIRST, BEYOND)
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    compiling.make(optimised=False)
    quick = heats(tmp_path, FIRST, BEYOND)
    assert [pure[-1][0], quick[-1][0]] == [False, True], "one without a build, one with it"
    assert len(pure) == BEYOND - FIRST + 1
    assert quick[:-1] == pure[:-1]
