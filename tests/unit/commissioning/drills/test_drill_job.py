"""What a person hears of a drill whose supervisor goes on alone; whole drills are in tests/faults."""

import subprocess
import sys
from pathlib import Path

from kilnctl.commissioning.drills.drill_job import CABLE_OUT, NOT_OFF, PROCESS, PULLED, _follow
from kilnctl.commissioning.drills.drills import DRILLS

# As with the data cable out on a line that sends noise: killed for its silence, and off not read back.
SAYS = """
print('{"tell": "pull the data cable now"}')
for _ in range(3):
    print("2026-11-29T20:51:00 supervisor: it was silent; NOT read back as off: bench. Cut the power by hand")
"""


def test_who_has_pulled_the_cable_is_asked_once_to_plug_it_in() -> None:
    told: list[object] = []
    words = [sys.executable, "-c", SAYS]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as process:
        found = _follow(process, told.append)
    assert told == ["pull the data cable now", NOT_OFF]
    assert not found.passed
    assert "NOT read back as off" in found.line


def test_who_was_told_to_pull_the_cable_is_not_told_to_cut_the_power() -> None:
    """It was, while he counted the seconds to the dead-man's drop: in a test that was sound."""
    told: list[object] = []
    with subprocess.Popen([sys.executable, "-c", SAYS], stdout=subprocess.PIPE, text=True) as process:
        _follow(process, told.append, CABLE_OUT)
    assert told == ["pull the data cable now", CABLE_OUT]
    assert "power" not in CABLE_OUT
    assert PULLED in DRILLS


def test_a_drill_whose_folder_was_moved_away_says_so_in_one_line(tmp_path: Path) -> None:
    gone = tmp_path / "drill-of-a-folder-that-was-moved.json"
    told: list[object] = []
    with subprocess.Popen(
        [*PROCESS, str(gone)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as process:
        found = _follow(process, told.append)
        assert process.stderr is not None
        assert process.stderr.read() == ""
        assert process.wait() == 0
    assert not found.passed
    assert "its job is gone" in found.line
