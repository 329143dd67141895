"""Forty faulted heats, as Python and compiled: record and verdict, heat by heat; and the pace of both.

python -m pytest tests/bench/test_compiled_parity.py -s -m on_demand

Makes the build where there is none of this source; that takes some minutes.
"""

from pathlib import Path

import pytest
from compiled_heats import heats

from kilnctl.rehearsal import compiled, compiling

HEATS = 40


@pytest.mark.on_demand
def test_forty_faulted_heats_are_the_same(tmp_path: Path) -> None:
    if why := compiling.lacking():
        pytest.skip(why)
    if not compiled.build_folder().is_dir():
        compiling.make()
    *pure, (plain, pure_s) = heats(tmp_path, 0, HEATS)
    *quick, (uses, quick_s) = heats(compiled.build_folder().parents[1], 0, HEATS)
    assert not plain
    assert uses
    assert len(pure) == HEATS
    assert quick == pure
    assert isinstance(pure_s, float)
    assert isinstance(quick_s, float)
    print(f"\n{HEATS} heats: {pure_s:.1f} s of processor as Python, {quick_s:.1f} s compiled", end="")
    print(f": {pure_s / quick_s:.2f} times as fast")
