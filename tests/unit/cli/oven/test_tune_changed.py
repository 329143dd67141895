"""tune --changed: what heats found changed becomes the learned oven only when a person says so."""

import pytest

from kilnctl.care.oven_knowledge import known_of
from kilnctl.cli.heat.run import tell_due
from kilnctl.cli.oven.tune import tune
from kilnctl.config import home
from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.logbook.entries import LearnedOven, OvenChange, add
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.model.nameplate import nameplate

NAME = "tempering-oven"
OVEN = load_oven(bundled("ovens") / f"{NAME}.toml")
MODEL = nameplate(OVEN)


@pytest.fixture
def shop(tmp_path, monkeypatch):
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    monkeypatch.setattr("sys.stdin.isatty", lambda: False, raising=False)
    with Logbook(home.logbook_path()) as book:
        number = add(book, LearnedOven(NAME, MODEL.to_dict()), 1.0)
        add(book, OvenChange(NAME, number, lag=1.5, run=12), 2.0)


def known():
    with Reader(home.logbook_path()) as reader:
        return known_of(reader, OVEN)


def test_nothing_is_stored_unasked_and_the_limits_are_shown(shop, capsys):
    assert tune(NAME, changed=True) == 0
    said = capsys.readouterr().out
    assert "run 12 found: sensor lag x 1.50" in said
    assert "not stored" in said
    assert "rising" in said
    assert known().model == MODEL


def test_with_a_yes_it_is_the_learned_oven_and_nothing_is_offered_any_more(shop, capsys):
    tune(NAME, changed=True, yes=True)
    assert known().model.sheath_s == pytest.approx(1.5 * MODEL.sheath_s)
    assert known().change is None
    tune(NAME, changed=True, yes=True)
    assert "nothing is known to have changed" in capsys.readouterr().out


def test_a_heat_says_at_its_start_what_it_starts_from(shop):
    said: list[str] = []
    tell_due(OVEN, said.append)
    assert any("run 12 found" in line and "--changed" in line for line in said)
