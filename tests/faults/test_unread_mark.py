"""The mark of a heat that was not read back as off, left by a controller that lives on: what clears it.

The boards are plain scripts: nothing of `simulator/` is in them.
"""

from collections.abc import Iterator
from pathlib import Path

import leftovers
import pytest
from faults.test_lost_recording import TwoBenches

from kilnctl.marks import running_ovens
from kilnctl.marks.process_identity import owner_of

pytestmark = [pytest.mark.real_bytes, pytest.mark.slow]
HEAT = ("run", "--oven", "left", "--soak", "100C", "--for", "1min")
UNREAD = "an earlier heat was not read back as off"


@pytest.fixture
def two(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[TwoBenches]:
    """Return two ovens: the right one is watched by a controller, which has left the left one unread."""
    made = TwoBenches(tmp_path)
    watch = made.records("right")
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    controller = owner_of(made.controller())
    monkeypatch.setattr(running_ovens, "owner_of", lambda _pid: controller)
    running_ovens.mark("left", (tmp_path / "ovens" / "left.toml").read_text(encoding="utf-8"))
    yield made
    leftovers.end_home(tmp_path)
    watch.communicate(timeout=60)
    for bench in made.benches.values():
        bench.close()


def test_an_off_that_was_read_back_clears_it_and_a_start_says_so_first(two: TwoBenches) -> None:
    """Off said "read back" twice, and each start was refused all the same, after its questions."""
    said = two.say(*HEAT)[1]
    assert UNREAD in said
    assert "first: " not in said
    code, off = two.say("off", "--oven", "left")
    assert (code, "read back: left" in off) == (0, True), off
    assert running_ovens.of("left") is None
    assert UNREAD not in two.say(*HEAT)[1]


def test_an_off_that_was_not_read_back_leaves_it(two: TwoBenches) -> None:
    two.benches["left"].cable = False
    assert two.say("off", "--oven", "left")[0] == 1
    assert running_ovens.of("left") is not None
    assert UNREAD in two.say(*HEAT)[1]
