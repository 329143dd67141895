"""How a command ends when something was raised: one line on stderr, and the exit code of the contract."""

import contextlib
import difflib
import errno
import os
import sys
import traceback
from collections.abc import Iterable
from pathlib import Path

from kilnctl.cli.terminal.whole_words import whole_words
from kilnctl.errors import ConfigError, KilnctlError, ProfileError, RecordError, UnitError, cut_short
from kilnctl.stages import REFUSED

BAD_INPUT = 2
BY_A_PERSON = 5
# What a folder is or is not: full, read-only, not this user's, not there.
NOT_OURS = {
    *(errno.EROFS, errno.ENOSPC, errno.EDQUOT, errno.EACCES, errno.EPERM),
    *(errno.ENOTDIR, errno.EISDIR, errno.ENOENT, errno.ENAMETOOLONG),
}
FULL = {errno.ENOSPC, errno.EDQUOT, errno.EROFS}  # of whatever was being written: a write names no file
LONGEST = 300  # characters of one line of refusal
OUR_FAULT = 70  # EX_SOFTWARE of sysexits.h: an internal error of the program


def ended_by(error: BaseException) -> int:
    """Say in one line what ended the command and return the exit code. Raises nothing."""
    if isinstance(error, SystemExit):
        return _code(error)
    if isinstance(error, KeyboardInterrupt):
        _say("stopped")
        return BY_A_PERSON
    if isinstance(error, EOFError):
        _say("stopped: a question went unanswered (Ctrl-D, or no terminal)")
        return BY_A_PERSON
    if isinstance(error, BrokenPipeError):
        _quiet_stdout()
        return 0
    if isinstance(error, KilnctlError):
        _say(str(error))
        return (
            BAD_INPUT if isinstance(error, ConfigError | ProfileError | UnitError | RecordError) else REFUSED
        )
    if isinstance(error, OSError) and error.filename and error.errno in NOT_OURS:
        _say(f"{os.fsdecode(error.filename)}: {error.strerror}; look at the folder, or give another")
        return BAD_INPUT
    if isinstance(error, OSError) and error.errno in FULL:
        _say(f"{error.strerror}: look at the disk that kilnctl writes to (`df -h`), then try again")
        return BAD_INPUT
    if type(error).__module__.startswith("cyclopts"):
        from kilnctl.cli.terminal.mistyped import in_our_words

        command = " ".join(getattr(error, "command_chain", None) or ("COMMAND",))
        _say(f"{in_our_words(error)} (`kilnctl {command} --help` shows how)")
        return BAD_INPUT
    _say(_details_kept(error))
    return OUR_FAULT


def no_such_command(word: str, commands: Iterable[str]) -> int:
    """Say which command may have been meant, without loading any (the library would load all of them)."""
    near = difflib.get_close_matches(word, list(commands), n=2, cutoff=0.5)
    _say(f'no command "{word}"; {"did you mean " + " or ".join(near) if near else "see `kilnctl --help`"}')
    return BAD_INPUT


def _code(error: SystemExit) -> int:
    if error.code is None or isinstance(error.code, int):
        return error.code or 0
    _say(str(error.code))
    return BAD_INPUT


def _say(text: str) -> None:
    """Print a refusal, a line for each mistake; words that came from outside move no cursor."""
    short = [cut_short(line, LONGEST) for line in _in_chosen_units(text).split("\n")]
    with contextlib.suppress(OSError):
        print(whole_words("kilnctl: " + "\n".join(short), sys.stderr), file=sys.stderr)


def _in_chosen_units(text: str) -> str:
    """Return a refusal in the person's units; as it is where nobody chose, or the choice is what is wrong."""
    try:
        from kilnctl.config import home

        if not home.preferences_path().is_file():
            return text
        from kilnctl.config.preferences import as_chosen

        return as_chosen()(text)
    except KilnctlError:
        return text


def _quiet_stdout() -> None:
    """The reader of a pipe has gone (`| head`): nothing is wrong, and nothing more can be said."""
    with contextlib.suppress(OSError):
        sys.stdout.close()


def _details_kept(error: BaseException) -> str:
    """Write the traceback where it can be sent from, and return the line that says so."""
    what = f"this is a fault of kilnctl, not yours: {type(error).__name__}: {error}".splitlines()[0]
    where = kept(error)
    if not where:
        return what
    return f"{what} ({where}); it does not affect the heat; `kilnctl status` shows it"


def kept(error: BaseException) -> str:
    """Write a traceback where it can be sent from; say where, or nothing where that failed."""
    try:
        from kilnctl.config import home

        path: Path = home.home() / "fault.log"
        with path.open("a", encoding="utf-8") as file:
            traceback.print_exception(error, file=file)
    except (KilnctlError, OSError):
        return ""
    return f"details in {path}"
