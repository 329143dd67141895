"""A link to a pseudo-terminal outlives its simulator: only the lock beside it tells whether one is there."""

import fcntl
from pathlib import Path

from kilnctl.config.simulator_line import gone


def test_a_line_is_gone_when_its_lock_is_free(tmp_path: Path) -> None:
    link = tmp_path / "oven"
    link.symlink_to("/dev/null")
    assert not gone(str(link)), "no simulator made it"
    with (tmp_path / "oven.simulator").open("w") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        assert not gone(str(link))
    assert gone(str(link))


def test_a_lock_without_a_line_is_no_line_that_is_gone(tmp_path: Path) -> None:
    (tmp_path / "oven.simulator").touch()
    assert not gone(str(tmp_path / "oven"))
