"""Whether somebody holds a lock: asked without taking it."""

import fcntl
import os
from pathlib import Path

import pytest

from kilnctl.marks.process_identity import locked


@pytest.fixture
def lock(tmp_path: Path) -> Path:
    path = tmp_path / "lock"
    path.touch()
    return path


def test_a_lock_is_seen_as_long_as_it_is_held_and_asking_takes_nothing(lock: Path) -> None:
    assert not locked(lock)
    holder = os.open(lock, os.O_RDWR)
    fcntl.flock(holder, fcntl.LOCK_EX | fcntl.LOCK_NB)  # asking has left it free
    assert locked(lock)
    os.close(holder)
    assert not locked(lock)


def test_what_is_not_there_nobody_holds(tmp_path: Path) -> None:
    assert not locked(tmp_path / "lock")


def test_what_cannot_be_asked_is_not_free(lock: Path) -> None:
    """A link in its place leads to a file that somebody else may have chosen."""
    link = lock.parent / "link"
    link.symlink_to(lock)
    assert locked(link)
