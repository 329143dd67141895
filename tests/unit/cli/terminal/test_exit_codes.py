"""How a command ends when something was raised: one line, and the code of the contract in the README."""

import errno

import pytest

from kilnctl.cli.main import run
from kilnctl.cli.terminal.exit_codes import ended_by, no_such_command
from kilnctl.errors import ConfigError, NoReply, ProfileError, RecordError, RunRefused, UnitError

pytestmark = pytest.mark.usefixtures("own_home")


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (ConfigError("oven.toml: no such key"), 2),
        (ProfileError("segment 3: 1250 C exceeds the limit"), 2),
        (UnitError("1 h 5: no unit"), 2),
        (RecordError("damaged"), 2),
        (RunRefused("the limit is 90 days old"), 3),
        (NoReply("the board does not answer"), 3),
        (KeyboardInterrupt(), 5),
        (EOFError(), 5),
        (PermissionError(errno.EACCES, "Permission denied", "/nowhere"), 2),
        (ZeroDivisionError("oops"), 70),
        (SystemExit(4), 4),
        (SystemExit(None), 0),
    ],
)
def test_the_code_is_that_of_the_contract(
    error: BaseException, code: int, capsys: pytest.CaptureFixture[str]
) -> None:
    assert ended_by(error) == code
    said = capsys.readouterr()
    assert said.out == ""
    assert len(said.err.splitlines()) <= 1
    assert "Traceback" not in said.err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("steel", "choose"), "kilnctl: steel choose needs GOAL"),
        (("figure", "temper", "60", "--steel"), "kilnctl: figure temper: --steel needs a value behind it"),
        (("figure", "temper", "60", "--carbon", "much"), '--carbon: "much" is not a number'),
        (("figure", "temper", "60", "61"), "nothing here takes '61'"),
        (("figure", "bath", "20kg", "1kg"), "kilnctl: figure bath needs --start"),
        (("prove", "x", "--runs", "1.5"), 'kilnctl: --runs: "1.5" is not a whole number'),
        (("dry-run", "x", "--seed", "0x10"), '--seed: "0x10" is not a whole number'),
        (("runs", "--limit", "1.0"), '--limit: "1.0" is not a whole number'),
        (("export", "1.5", "--out", "x"), 'RUN: "1.5" is not a whole number'),
        (("simulate", "x", "--speed", "nan"), '--speed: "nan" is not a number'),
        (("answer", "maybe"), 'REPLY: "maybe" is none of done, wait, abort'),
        (("plan", "x", "--json=maybe"), "--json takes nothing behind it"),
        (("export", "--all", "--all"), "--all stands there twice; give it once"),
        (("figure", "temper", "60", "--steal", "O1"), "--steal. Did you mean --steel?"),
    ],
)
def test_what_is_missing_wrong_or_too_much_is_named_and_nothing_else(
    words: tuple[str, ...], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(words) == 2
    told = capsys.readouterr().err
    assert said in told
    assert "'60'" not in told  # what was right is not blamed


def test_a_near_word_is_offered(capsys: pytest.CaptureFixture[str]) -> None:
    assert no_such_command("stauts", ["status", "off", "run"]) == 2
    assert "did you mean status" in capsys.readouterr().err
