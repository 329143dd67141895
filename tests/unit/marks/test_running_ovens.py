"""The marks of ovens that may be hot: whole, durable, and harmless when damaged."""

import os
from pathlib import Path

import pytest

from kilnctl.config import home
from kilnctl.errors import RecordError
from kilnctl.marks import running_ovens

pytestmark = pytest.mark.usefixtures("own_home")


def text(name: str) -> str:
    found = (home.bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
    return found.replace('name = "tempering-oven"', f'name = "{name}"')


@pytest.mark.parametrize("name", ["left oven", "Öfchen 2", "a.b", "100%"])
def test_a_mark_brings_the_whole_oven_back(name: str, own_home: Path) -> None:
    running_ovens.mark(name, text(name))
    assert [oven.name for oven in running_ovens.marked()] == [name]
    assert {path.parent for path in own_home.rglob("*.toml")} == {own_home / "running"}
    assert running_ovens.marks()[0].lives
    running_ovens.clear(name)
    assert running_ovens.marked() == []


def test_two_ovens_have_a_mark_each() -> None:
    for name in ("left", "right"):
        running_ovens.mark(name, text(name))
    running_ovens.clear("left")
    assert [oven.name for oven in running_ovens.marked()] == ["right"]


def test_a_torn_mark_does_not_hide_the_others(own_home: Path) -> None:
    running_ovens.mark("right", text("right"))
    (own_home / "running" / "left.toml").write_text('name = "le', encoding="utf-8")
    assert [oven.name for oven in running_ovens.marked()] == ["right"]


@pytest.mark.parametrize("keep", [0, 20, 200, 500, -1])
def test_a_mark_cut_short_is_torn_and_named(own_home: Path, keep: int) -> None:
    running_ovens.mark("left", text("left"))
    path = own_home / "running" / "left.toml"
    path.write_bytes(path.read_bytes()[:keep])
    assert [(found.name, found.torn) for found in running_ovens.marks()] == [("left", True)]


def test_random_bytes_and_links_are_torn_marks(own_home: Path) -> None:
    for _ in range(20):
        (running_ovens.folder() / "left.toml").write_bytes(os.urandom(200))
        assert running_ovens.marks()[0].torn
    (own_home / "elsewhere").write_text(text("left"))
    (running_ovens.folder() / "left.toml").unlink()
    (running_ovens.folder() / "left.toml").symlink_to(own_home / "elsewhere")
    assert running_ovens.marks()[0].torn


def test_only_the_mark_that_is_meant_is_ended() -> None:
    running_ovens.mark("left", text("left"))
    first = running_ovens.marks()[0].id
    running_ovens.mark("left", text("left"))
    running_ovens.clear("left", only=first)
    second = running_ovens.marks()[0].id
    running_ovens.clear("left", only=second)
    assert running_ovens.marks() == []
    assert running_ovens.ended("left") == second != first


def test_clearing_what_is_not_there_is_no_fault() -> None:
    running_ovens.clear("never marked")


def test_a_mark_that_cannot_be_written_refuses_the_heat(own_home: Path) -> None:
    (own_home / "running").write_text("a file where the folder should be")
    with pytest.raises(RecordError, match="nothing was heated"):
        running_ovens.mark("left", text("left"))


def test_a_mark_that_names_nobody_is_an_orphan(own_home: Path) -> None:
    running_ovens.mark("left", text("left"))
    assert not running_ovens.orphaned("left")
    (own_home / "running" / "left.toml").write_text(text("left"), encoding="utf-8")
    assert running_ovens.orphaned("left")


def test_the_mark_of_a_recording_says_so_and_takes_the_place_of_no_heat(own_home: Path) -> None:
    running_ovens.mark("left", text("left"), heats=False)
    assert [(found.name, found.heats) for found in running_ovens.marks()] == [("left", False)]
    assert (running_ovens.is_watched("left"), running_ovens.heating()) == (True, {})
    running_ovens.mark("left", text("left"))
    heat = running_ovens.heating()
    running_ovens.mark("left", text("left"), heats=False)
    assert (running_ovens.is_watched("left"), running_ovens.heating()) == (False, heat)


def test_a_mark_is_turned_and_stays_the_same(own_home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever holds it must know when it has ended; another process's is left as it is."""
    running_ovens.mark("left", text("left"))
    (id_,) = running_ovens.heating().values()
    for heats in (False, True):
        running_ovens.turn("left", text("left"), heats)
        (found,) = running_ovens.marks()
        assert (found.id, found.heats, found.lives) == (id_, heats, True)
    running_ovens.turn("right", text("right"), heats=False)
    monkeypatch.setattr(os, "getpid", lambda: 2**22 + 1)
    running_ovens.turn("left", text("left"), heats=False)
    assert running_ovens.heating() == {"left": id_}
