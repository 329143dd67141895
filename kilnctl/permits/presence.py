"""Is the person who confirms something at the machine? No reset and no heat from afar.

Here is who is known to be here: at a text console of this computer, or in a terminal window whose every
parent is known, on a seat of this computer, while nobody of that name is logged in from elsewhere. Whoever is
not known to be here counts as far, and says what the oven's lamp (or horn) does: only there can it be seen.
What is not found out: a remote view of this computer's screen, and numbers that are told over a telephone.
"""

import os
import random
import re
import subprocess
import sys
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from kilnctl.clock import Clock
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import OvenIO
from kilnctl.errors import RunRefused
from kilnctl.permits.lamp_calls import (
    MOST,
    NUMBERS,
    READY_S,
    rests_to_try_s,
    show_at_its_pace,
    what_to_look_at,
)

# A virtual console: the kernel gives it to keyboard and screen of this computer alone (Linux, console(4)).
OWN_SCREEN = re.compile(r"/dev/tty\d+")
OVER_A_NETWORK = ("SSH_CONNECTION", "SSH_CLIENT", "SSH_TTY")
# What may stand between a person at this computer and this command. Everything else counts as far: a server
# of remote shells, a terminal that lives on and is picked up from anywhere, one in a browser.
SHELLS = ("sh", "bash", "dash", "zsh", "fish", "ksh", "sudo", "su", "login", "kilnctl", "pipx", "uv")
PYTHON = re.compile(r"python3?(\.\d+)?")
WINDOWS = ("gnome-terminal-", "gnome-terminal", "konsole", "xterm", "xfce4-terminal", "mate-terminal",
           "lxterminal", "qterminal", "ptyxis", "kgx", "alacritty", "kitty", "foot", "terminator",
           "tilix", "urxvt", "st")  # fmt: skip
LOGINCTL_S = 3.0
LOOKING = (
    f"Press Enter when you can {{1}} the {{0}} (it calls {READY_S:.0f} s later); or, to walk there, type how "
    "many seconds you need, such as 30 (q: leave)? "
)
WALK_MOST_S = 300.0
LEFT = "left at the question for the numbers; the heat is off"
SHOWS, WRONG = 6, 3  # how often the numbers are shown, and may be miscounted: three guesses in 125


@dataclass(frozen=True, slots=True)
class Session:
    """One login of this user as the system's login manager knows it (logind; loginctl(1))."""

    seat: str
    remote: bool
    active: bool


def is_here(
    terminal: str, environ: Mapping[str, str], parents: Iterable[str], sessions: Iterable[Session] = ()
) -> bool:
    """Judge a terminal's name, the environment, the processes above this one, and the user's logins."""
    if OWN_SCREEN.fullmatch(terminal):
        return True
    if not terminal or any(environ.get(name) for name in OVER_A_NETWORK):
        return False
    return _in_a_window(list(parents)) and _at_a_seat(list(sessions))


def why_afar(
    terminal: str, environ: Mapping[str, str], parents: Iterable[str], sessions: Iterable[Session] = ()
) -> str:
    """Return in a few words why somebody is not known to be here, empty where he is; judged as `is_here`."""
    above = list(parents)
    if is_here(terminal, environ, above, sessions):
        return ""
    if any(environ.get(name) for name in OVER_A_NETWORK):
        return "it is reached over a network (ssh)"
    between = next((n for n in above if not (n in WINDOWS or n in SHELLS or PYTHON.fullmatch(n))), "")
    if between and not _in_a_window(above):
        holder = between.partition(":")[0]
        return (
            f'a program ("{holder}") stands between it and the screen, so it may be picked up from anywhere'
        )
    return "nothing shows that it is at this computer's own seat"


def _in_a_window(parents: list[str]) -> bool:
    """True where only shells stand between this command and the window of a known terminal."""
    for name in parents:
        if name in WINDOWS:
            return True
        if name not in SHELLS and not PYTHON.fullmatch(name):
            return False
    return False


def _at_a_seat(sessions: list[Session]) -> bool:
    """True where this user is logged in at a seat of this computer, and from nowhere else."""
    here = any(session.seat and session.active for session in sessions)
    return here and not any(session.remote for session in sessions)


def here_now() -> bool:
    """Return whether this process is run by somebody who is known to be at the computer's own screen."""
    return not afar_now()


def afar_now() -> str:
    """Return why whoever runs this process is not known to be here, empty where he is."""
    try:
        terminal = os.ttyname(sys.stdin.fileno())
    except (OSError, ValueError):
        terminal = ""
    return why_afar(terminal, os.environ, list(_parents(os.getppid())), _sessions())


def _sessions() -> list[Session]:
    """Return the logins of this user; none where the system does not tell, which is afar."""
    listed = _loginctl("show-user", str(os.getuid()), "--property=Sessions").get("Sessions", "")
    properties = ("--property=Seat", "--property=Remote", "--property=Active")
    said = [_loginctl("show-session", name, *properties) for name in listed.split()]
    return [
        Session(one.get("Seat", ""), one.get("Remote") != "no", one.get("Active") == "yes") for one in said
    ]


def _loginctl(*words: str) -> dict[str, str]:
    try:
        done = subprocess.run(
            ("loginctl", *words), capture_output=True, text=True, timeout=LOGINCTL_S, check=False
        )
    except (OSError, subprocess.SubprocessError):
        return {}
    return dict(line.split("=", 1) for line in done.stdout.splitlines() if "=" in line)


def _parents(process: int) -> Iterable[str]:
    """Yield the names of the processes above; where the system does not tell, nothing, which is afar."""
    while process > 1:
        try:
            stat = (Path("/proc") / str(process) / "stat").read_text(encoding="utf-8", errors="replace")
        except OSError:
            return
        name, _, rest = stat.partition("(")[2].rpartition(")")
        yield name
        process = int(rest.split()[1])


def _ready_after_s(typed: str) -> float:
    """Return how long to wait before the first call: as long as was typed, at least to look up."""
    if typed.strip().lower() == "q":
        raise RunRefused(LEFT)
    told = re.fullmatch(r"\s*(\d{1,4})\s*s?\s*", typed)
    return min(max(float(told[1]), READY_S), WALK_MOST_S) if told else READY_S


def prove(
    oven: Oven,
    oven_io: OvenIO,
    clock: Clock,
    ask: Callable[[str], str],
    code: str = "",
    say: Callable[[str], object] = lambda _line: None,
    begin: Callable[[str], str] = lambda _question: "",
) -> None:
    """Show numbers with the oven's lamp (or horn) and ask for them. `oven_io` is connected, the heat is off.

    `begin` asks whether somebody looks, before each call. `code` is drawn where it is not given; whoever has
    missed or miscounted it is shown another: a new start would show one too. Raises RunRefused for wrong
    answers, for who leaves, for a board that refuses calls, and for an oven without lamp and horn.
    """
    shown_by = "lamp" if oven.output.lamp else "horn" if oven.output.horn else ""
    if not shown_by:
        raise RunRefused(
            f"{oven.name} has neither lamp nor horn to prove that somebody is there: "
            "confirm it at the computer's own screen and keyboard, not over a network, or give it a lamp "
            f"(`kilnctl oven change {oven.name} output.lamp`, on this board or on one more)"
        )
    rests_s = rests_to_try_s(oven, shown_by)
    say(what_to_look_at(oven, shown_by, rests_s[0]))
    wrong = 0
    for _ in range(SHOWS):
        clock.pause(_ready_after_s(begin(LOOKING.format(shown_by, "see" if shown_by == "lamp" else "hear"))))
        drawn = code or "".join(str(random.SystemRandom().randint(1, MOST)) for _ in range(NUMBERS))
        rests_s = show_at_its_pace(oven_io, clock, drawn, shown_by, rests_s, say)
        typed = ask(
            f"The {shown_by} of {oven.name} gave {NUMBERS} numbers after one long call. "
            "Which (like 2 1 4; Enter: other ones, q: leave)? "
        ).strip()
        if typed.lower() == "q":
            raise RunRefused(LEFT)
        if re.sub(r"\D", "", typed) == drawn:
            return
        wrong += bool(typed)
        if wrong == WRONG:
            break
        say(f"{'It gave other numbers. ' if typed else ''}Once more, with other numbers.")
    raise RunRefused(
        f"the {shown_by} gave other numbers: this is confirmed at the machine, or not at all. "
        f"Did the {shown_by} stay dark or silent? Then the dead-man may drop its output too, and nothing "
        f"feeds it now: put the {shown_by} at another output"
    )
