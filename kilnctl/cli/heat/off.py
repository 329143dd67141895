"""Heat off now. Imports as little as can be: this is the command for a hand that shakes."""

import os
import sys
from collections.abc import Sequence
from typing import TextIO

from kilnctl.cli.terminal.place import who
from kilnctl.cli.terminal.whole_words import whole_words
from kilnctl.marks.off_means import READS
from kilnctl.processes.heat_off import Report, heat_off

SLOW_S = 0.3  # a look at a usual board takes a tenth of that


def off(*, oven: str | None = None) -> int:
    """Heat off now, verified, on every oven or on one. Works without a controller too.

    Exit code 0: read back as off, three times in a row, on every oven meant, and nothing else drives them.
    Exit code 1: not read back, cut the power by hand. Exit code 2: no oven of that name, nothing switched.

    Parameters
    ----------
    oven:
        The name of one oven, or its file; all of them when left out.
    """
    report = heat_off(oven, who(), tell=_tell)
    for note in report.notes:
        _say(f"kilnctl: {note}", sys.stderr)
    _say(line(report), sys.stdout if report.good else sys.stderr)
    return report.code


def _tell(so_far: Report, alarm: bool) -> None:
    """Say to whoever waits how it stands, while it is still tried; the line of the end follows."""
    _say(f"kilnctl: {line_so_far(so_far, alarm)}", sys.stderr)


def _say(text: str, stream: TextIO) -> None:
    """Print a line. Where nobody reads any more, the exit code still says what was found."""
    try:
        print(whole_words(text, stream), file=stream, flush=True)
    except OSError:
        # What print has kept would be tried again at the end, and change the exit code.
        null = os.open(os.devnull, os.O_WRONLY)
        os.dup2(null, stream.fileno())
        os.close(null)


def oven_in(words: Sequence[str]) -> str | None:
    """Return the oven that the words name; anything that is not understood means all ovens."""
    match words:
        case ["--oven", name]:
            return name
        case [word] if word.startswith("--oven="):
            return word.removeprefix("--oven=")
    return None


def line(report: Report) -> str:
    """Return the one line that says what is known about the heat."""
    off_now = [name for name, good in report.verified.items() if good]
    not_off = [name for name, good in report.verified.items() if not good]
    if report.good:
        return f"heat is off, read back: {', '.join(off_now)} (by {report.by})"
    said = f" ({'; '.join(report.troubles)})" if report.troubles else ""
    if not report.verified:
        return f"no oven is connected, nothing was read back. If one is hot, cut its power by hand{said}"
    if not not_off:
        return f"read back as off: {', '.join(off_now)}. Watch them, or cut the power by hand{said}"
    done = f"off: {', '.join(off_now)}; " if off_now else ""
    if report.watched >= set(not_off):
        silent = f"{', '.join(not_off)} does not answer, and nothing here was heating it"
        return f"{done}{silent}; if it is hot, cut its power{_where(report, not_off)}{said}"
    by_hand = f"Cut the power by hand{_where(report, not_off)}"
    return f"{done}NOT read back as off: {', '.join(not_off)}. {by_hand}{said}"


def line_so_far(report: Report, alarm: bool) -> str:
    """Return the one line for who waits: with `alarm` what to do first, then which oven is not off yet."""
    not_off = [name for name, good in report.verified.items() if not good]
    if alarm:
        where = _where(report, not_off)
        return f"CUT THE POWER{where}. Not read back as off yet: {', '.join(not_off)}; still trying"
    unread = [name for name in not_off if name not in report.reads_off]
    where = _where(report, unread)
    by_hand = f" If it cannot wait, cut the power{where}" if where else ""
    slow = [f"{name} answers, but slowly ({report.slow[name]:.1f} s a look, and it takes {READS})"
            for name in not_off if report.slow.get(name, 0.0) >= SLOW_S]  # fmt: skip
    said = [f"{name} reads off, and is asked again to be sure." for name in not_off if name not in unread]
    said += [f"still asking: {', '.join(unread)}, not read back as off yet."] if unread else []
    said += [f"{', '.join(slow)}."] if slow else []
    return f"{' '.join(said)}{by_hand}"


def _where(report: Report, ovens: Sequence[str]) -> str:
    places = ", ".join(dict.fromkeys(report.isolators[n] for n in ovens if report.isolators.get(n)))
    return f" at: {places}" if places else ""
