"""Every command of the contract exists, has help, is in the README, and ends with a code of the table."""

import inspect
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from cyclopts import App

from kilnctl.cli.main import COMMANDS, run
from kilnctl.cli.main import app as front
from kilnctl.cli.terminal import exit_codes
from kilnctl.errors import (
    ConfigError,
    DeviceError,
    KilnctlError,
    ProfileError,
    RecordError,
    RunRefused,
    UnitError,
)

TOP = Path(__file__).parents[2]
MOST_OPTIONS = 13  # `run` has so many; who needs more needs another command
README = (TOP / "README.md").read_text(encoding="utf-8")
CONTRACT = {
    *(
        "steel",
        "recipe",
        "plan",
        "dry-run",
        "run",
        "status",
        "watch",
        "off",
        "answer",
        "adjust",
        "acknowledge",
    ),
    *("shelve", "messages", "reset", "tune", "commission", "prove", "runs", "part", "compare"),
    *("export", "import", "verify", "care", "simulate", "guide", "figure", "oven", "demo", "completion"),
}


def test_the_contract_is_kept() -> None:
    assert set(COMMANDS) == CONTRACT


def commands(app: App, words: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], App]]:
    """Yield the words of every command and sub-command that does something."""
    if app.default_command is not None:
        yield words, app
    for name in app:
        if not name.startswith("-"):
            yield from commands(app[name], (*words, name))


EVERY = dict(commands(front()))


def test_every_command_of_the_contract_does_something() -> None:
    assert {words[0] for words in EVERY} == CONTRACT


@pytest.mark.parametrize("words", sorted(EVERY), ids=" ".join)
def test_a_command_has_help_that_names_every_option(
    words: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    command = EVERY[words].default_command
    assert (inspect.getdoc(command) or "").strip()
    assert run([*words, "--help"]) == 0
    shown = capsys.readouterr().out
    for argument in EVERY[words].assemble_argument_collection():
        assert argument.name in shown
    assert "[default: False]" not in shown, "a flag that is not given is off: nobody needs to be told"
    assert '[default: ""]' not in shown
    assert "[default: ]" not in shown


@pytest.mark.parametrize("words", sorted(EVERY), ids=" ".join)
def test_a_terminal_of_80_columns_cuts_no_word_of_the_help(
    words: tuple[str, ...], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The terminal breaks what is longer, in the middle of a word; the library breaks what has no blank."""
    said = []
    for columns in ("80", "400"):
        monkeypatch.setenv("COLUMNS", columns)
        run([*words, "--help"])
        shown = capsys.readouterr().out
        assert all(len(row) <= int(columns) for row in shown.splitlines())
        said.append({word for word in re.split(r"[\s│╭╮╰╯─]+", shown) if word})
    assert said[0] == said[1]


@pytest.mark.parametrize("name", sorted(CONTRACT))
def test_a_command_is_in_the_readme(name: str) -> None:
    assert re.search(rf"kilnctl {name}\b", README)


@pytest.mark.parametrize("words", sorted(EVERY), ids=" ".join)
def test_every_option_says_what_it_does(words: tuple[str, ...]) -> None:
    arguments = EVERY[words].assemble_argument_collection(parse_docstring=True)
    assert [a.name for a in arguments if not a.parameter.help and a.show] == []


@pytest.mark.parametrize("words", sorted(EVERY), ids=" ".join)
def test_a_command_is_no_bag_of_options(words: tuple[str, ...]) -> None:
    """Two commands of twenty options each once took nine halves of a measurement and kept none."""
    assert len(EVERY[words].assemble_argument_collection()) <= MOST_OPTIONS


def test_the_list_of_commands_shows_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--help"]) == 0
    shown = capsys.readouterr().out
    assert [name for name in CONTRACT if not re.search(rf"(?m)^  {name}\s", shown)] == []
    assert [row for row in shown.splitlines() if len(row) > 80] == [], "a terminal would cut words"


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (ConfigError("x"), 2),
        (ProfileError("x"), 2),
        (UnitError("x"), 2),
        (RecordError("x"), 2),
        (RunRefused("x"), 3),
        (DeviceError("x"), 3),
        (KeyboardInterrupt(), 5),
        (ZeroDivisionError("x"), 70),
    ],
)
def test_errors_end_with_their_code_and_one_line(
    error: BaseException, code: int, capsys: pytest.CaptureFixture[str]
) -> None:
    assert exit_codes.ended_by(error) == code
    said = capsys.readouterr().err
    assert said.startswith("kilnctl: ")
    assert said.count("\n") == 1
    assert "Traceback" not in said


def test_every_error_class_has_a_code() -> None:
    def all_of(kind: type[KilnctlError]) -> list[type[KilnctlError]]:
        return [kind, *(deeper for child in kind.__subclasses__() for deeper in all_of(child))]

    assert {exit_codes.ended_by(kind("x")) for kind in all_of(KilnctlError)} == {2, 3}


@pytest.mark.parametrize("words", [["steal"], ["run", "--hlp"], ["answer", "perhaps"], ["adjust"], ["-x"]])
def test_misuse_is_one_line_and_code_2(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(words) == 2
    said = capsys.readouterr()
    assert said.err.startswith("kilnctl: ")
    assert said.err.count("\n") == 1
    assert said.out == ""


def test_a_near_miss_is_offered(capsys: pytest.CaptureFixture[str]) -> None:
    run(["stattus"])
    assert "did you mean status" in capsys.readouterr().err


def test_the_readme_tells_the_exit_codes() -> None:
    rows = dict(re.findall(r"^\| *(\d+) *\| *(.+?) *\|$", README, re.MULTILINE))
    assert set(rows) >= {"0", "1", "2", "3", "4", "5", "6", "7", "70"}


QUOTED = re.compile(r"`kilnctl ([a-z][^`\"]*)[`\"]")
SOURCES = sorted(path for path in (TOP / "kilnctl").rglob("*") if path.suffix in (".py", ".md"))


def options_of(words: list[str]) -> set[str]:
    """Return the options of the command or sub-command that the words begin with."""
    command = max((key for key in EVERY if tuple(words[: len(key)]) == key), key=len, default=None)
    if command is None:  # a command that only has sub-commands, named by itself
        return set()
    return {name for a in EVERY[command].assemble_argument_collection() for name in a.names}


def test_every_command_that_is_told_exists_with_the_options_that_are_told() -> None:
    """A refusal that offers a command of last year helps nobody."""
    wrong, told = [], 0
    for path in (*SOURCES, TOP / "README.md"):
        for said in QUOTED.findall(path.read_text(encoding="utf-8")):
            words, told = said.split(), told + 1
            asked = {word.partition("=")[0] for word in words if re.fullmatch(r"--[a-z][a-z-]*(=.*)?", word)}
            if words[0] not in COMMANDS or not asked - {"--help"} <= options_of(words):
                wrong.append(f"{path.relative_to(TOP)}: {said}")
    assert told > 40
    assert wrong == []
