"""How a command ends when something was raised: one line on stderr, and the exit code of the contract."""

import contextlib
import sys
import traceback
from pathlib import Path

from kilnctl.errors import ConfigError, KilnctlError, ProfileError, UnitError

BAD_INPUT = 2
REFUSED = 3
BY_A_PERSON = 5
OUR_FAULT = 70  # EX_SOFTWARE of sysexits.h: an internal error of the program


def ended_by(error: BaseException) -> int:
    """Say in one line what ended the command and return the exit code. Raises nothing."""
    if isinstance(error, SystemExit):
        return _code(error)
    if isinstance(error, KeyboardInterrupt):
        _say("stopped")
        return BY_A_PERSON
    if isinstance(error, BrokenPipeError):
        _quiet_stdout()
        return 0
    if isinstance(error, KilnctlError):
        _say(str(error))
        return BAD_INPUT if isinstance(error, ConfigError | ProfileError | UnitError) else REFUSED
    if type(error).__module__.startswith("cyclopts"):
        _say(f"{error}\nSee `kilnctl --help`, or `kilnctl COMMAND --help`.")
        return BAD_INPUT
    _say(_details_kept(error))
    return OUR_FAULT


def _code(error: SystemExit) -> int:
    if error.code is None or isinstance(error.code, int):
        return error.code or 0
    _say(str(error.code))
    return BAD_INPUT


def _say(line: str) -> None:
    with contextlib.suppress(OSError):
        print(f"kilnctl: {line}", file=sys.stderr)


def _quiet_stdout() -> None:
    """The reader of a pipe has gone (`| head`): nothing is wrong, and nothing more can be said."""
    with contextlib.suppress(OSError):
        sys.stdout.close()


def _details_kept(error: BaseException) -> str:
    """Write the traceback where it can be sent from, and return the line that says so."""
    what = f"this is a fault of kilnctl, not yours: {type(error).__name__}: {error}".splitlines()[0]
    try:
        from kilnctl.config import home

        path: Path = home.home() / "fault.log"
        with path.open("a", encoding="utf-8") as file:
            traceback.print_exception(error, file=file)
    except (KilnctlError, OSError):
        return what
    return f"{what} (details in {path}); the heat is not touched by this, `kilnctl status` shows it"
