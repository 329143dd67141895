"""Each command's help ends with one example that it takes."""

import shlex
from collections.abc import Iterator

import pytest
from cyclopts import App

from kilnctl.cli.main import app, run
from kilnctl.cli.terminal.examples import EXAMPLES, below_help


def commands(of: App, path: tuple[str, ...] = ()) -> Iterator[str]:
    """Yield every command that does something by itself."""
    inner = [name for name in of if not name.startswith("-")]
    for name in inner:
        yield from commands(of[name], (*path, name))
    if path and (not inner or of.default_command is not None):
        yield " ".join(path)


def test_every_command_has_one_example_that_it_takes() -> None:
    front = app()
    assert set(EXAMPLES) == set(commands(front))
    for name, rest in EXAMPLES.items():
        front.parse_args(shlex.split(f"{name} {rest}"), exit_on_error=False, print_error=False)
        assert len(f"  kilnctl {name} {rest}") <= 80


def test_help_ends_with_the_example(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["care", "count", "--help"]) == 0
    said = capsys.readouterr().out
    assert said.endswith('For example:\n  kilnctl care count "oil tank" quenches --by 6\n')
    assert max(map(len, said.splitlines())) <= 80


def test_no_example_without_help_nor_below_a_list_of_commands() -> None:
    assert below_help(["plan", "gouge-o1-temper"]) == ""
    assert below_help(["figure", "--help"]) == ""
    assert below_help(["part", "-h"]).endswith("kilnctl part gouge-7")
