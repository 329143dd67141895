"""Every command says what comes next, to a person only, and what it says is a command that is there."""

import re

import pytest

from kilnctl.cli.main import COMMANDS
from kilnctl.cli.terminal.hints import AMISS, NEXT, SILENT, hint
from kilnctl.guide.pages import pages


def test_every_command_says_what_comes_next_or_says_so_itself() -> None:
    assert set(NEXT) | SILENT == set(COMMANDS)
    assert not set(NEXT) & SILENT


def test_what_is_named_is_there() -> None:
    said = " ".join([*NEXT.values(), *AMISS.values()])
    assert set(re.findall(r"`kilnctl ([a-z-]+)", said)) <= set(COMMANDS)
    assert set(re.findall(r"`kilnctl guide ([a-z-]+)", said)) <= {page.topic for page in pages()}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["plan", "gouge.toml"], "Next: `kilnctl dry-run gouge.toml` rehearses it on a modelled oven"),
        (["plan", "gouge.toml", "--json"], ""),
        (["off"], "Next: `kilnctl status` says what is known; a new heat is a new `kilnctl run`"),
        (["oven", "check", "mine"], ""),
        (["nonsense"], ""),
    ],
)
def test_the_hint(words: list[str], said: str) -> None:
    assert hint(words) == said


def test_no_hint_promises_a_live_picture_where_nothing_may_run() -> None:
    """After "nothing is running" it said "`kilnctl watch` shows it live", which was refused then."""
    assert "watch` shows a running heat live" in hint(["status"])
    assert "`kilnctl off` ends a heat" in hint(["watch"]), "what was watched may be over"


def test_a_heat_that_did_not_end_as_asked_is_told_where_to_read() -> None:
    assert "guide after-a-trip" in hint(["run", "gouge.toml"], 4)
    assert hint(["run", "gouge.toml", "--json"], 4) == ""
    assert hint(["verify", "3"], 1) == ""
