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
        (OSError(errno.ENOSPC, "No space left on device"), 2),
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


def test_a_near_word_is_offered(capsys: pytest.CaptureFixture[str]) -> None:
    assert no_such_command("stauts", ["status", "off", "run"]) == 2
    assert "did you mean status" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "shown"),
    [
        (["steel", "choose"], "steel choose"),
        (["care", "due"], "care due"),
        (["figure", "power", "--x"], "figure power"),
    ],
)
def test_whoever_mistypes_is_led_to_the_help_of_that_command(
    words: list[str], shown: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """No one can type "kilnctl COMMAND --help", which it said."""
    assert run(words) == 2
    assert f"`kilnctl {shown} --help` shows how" in capsys.readouterr().err
