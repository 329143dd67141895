"""Every command says what comes next, to a person only, and what it says is a command that is there."""

import re

import pytest

from kilnctl.cli.main import COMMANDS
from kilnctl.cli.terminal.hints import NEXT, SILENT, hint


def test_every_command_says_what_comes_next_or_says_so_itself() -> None:
    assert set(NEXT) | SILENT == set(COMMANDS)
    assert not set(NEXT) & SILENT


def test_what_is_named_is_there() -> None:
    named = re.findall(r"`kilnctl ([a-z-]+)", " ".join(NEXT.values()))
    assert set(named) <= set(COMMANDS)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["plan", "gouge.toml"], "Next: `kilnctl dry-run gouge.toml` rehearses it on a modelled oven"),
        (["plan", "gouge.toml", "--json"], ""),
        (["off"], ""),
        (["nonsense"], ""),
    ],
)
def test_the_hint(words: list[str], said: str) -> None:
    assert hint(words) == said
