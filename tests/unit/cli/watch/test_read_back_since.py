"""An off that somebody else read back is known to a view that was looking at the heat."""

from pathlib import Path

import pytest

from kilnctl.cli.watch.read_back_since import ReadBackSince
from kilnctl.config import home
from kilnctl.marks import running_ovens

OVEN = "tempering-oven"


def text() -> str:
    return (home.bundled("ovens") / f"{OVEN}.toml").read_text()


@pytest.fixture
def seen(own_home: Path) -> ReadBackSince:
    running_ovens.mark(OVEN, text())
    return ReadBackSince()


def test_a_heat_is_open_until_its_mark_is_forgotten(seen: ReadBackSince) -> None:
    assert seen.off() == frozenset()
    running_ovens.clear(OVEN)
    assert seen.off() == {OVEN}


def test_a_heat_that_ended_well_and_is_only_watched_was_read_back(seen: ReadBackSince) -> None:
    running_ovens.turn(OVEN, text(), heats=False)
    assert seen.off() == {OVEN}
    running_ovens.turn(OVEN, text(), heats=True)
    assert seen.off() == frozenset()


def test_a_later_heat_is_open_again(seen: ReadBackSince) -> None:
    running_ovens.clear(OVEN)
    running_ovens.mark(OVEN, text())
    assert seen.off() == frozenset()


def test_a_mark_that_is_simply_gone_or_of_another_heat_proves_nothing(
    seen: ReadBackSince, own_home: Path
) -> None:
    (running_ovens.folder() / f"{OVEN}.toml").unlink()
    assert seen.off() == frozenset()
    running_ovens.mark(OVEN, text())
    running_ovens.clear(OVEN)
    assert seen.off() == frozenset(), "that was a heat which nobody here has looked at"


def test_a_heat_that_begins_later_is_known_once_it_was_looked_at(own_home: Path) -> None:
    blind, since = ReadBackSince(), ReadBackSince()
    running_ovens.mark(OVEN, text())
    since.remember()
    running_ovens.clear(OVEN)
    assert since.off() == {OVEN}
    assert blind.off() == frozenset()
