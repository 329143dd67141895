"""The marks of ovens that may be hot: whole, durable, and harmless when damaged."""

from pathlib import Path

import pytest

from kilnctl.config import home
from kilnctl.errors import RecordError
from kilnctl.runtime import running


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    return tmp_path


def text(name: str) -> str:
    found = (home.bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
    return found.replace('name = "tempering-oven"', f'name = "{name}"')


@pytest.mark.parametrize("name", ["left oven", "Öfchen 2", "a.b", "100%"])
def test_a_mark_brings_the_whole_oven_back(name: str, own_home: Path) -> None:
    running.mark(name, text(name))
    assert [oven.name for oven in running.marked()] == [name]
    assert {path.parent for path in own_home.rglob("*.toml")} == {own_home / "running"}
    running.clear(name)
    assert running.marked() == []


def test_two_ovens_have_a_mark_each() -> None:
    for name in ("left", "right"):
        running.mark(name, text(name))
    running.clear("left")
    assert [oven.name for oven in running.marked()] == ["right"]


def test_a_torn_mark_does_not_hide_the_others(own_home: Path) -> None:
    running.mark("right", text("right"))
    (own_home / "running" / "left.toml").write_text('name = "le', encoding="utf-8")
    assert [oven.name for oven in running.marked()] == ["right"]


def test_clearing_what_is_not_there_is_no_fault() -> None:
    running.clear("never marked")


def test_a_mark_that_cannot_be_written_refuses_the_heat(own_home: Path) -> None:
    (own_home / "running").write_text("a file where the folder should be")
    with pytest.raises(RecordError, match="nothing was heated"):
        running.mark("left", text("left"))
