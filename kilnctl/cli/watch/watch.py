"""The live screen: watch, in this terminal or in a browser on this computer."""

import asyncio
import contextlib
import importlib.util
import os
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING, Any

from kilnctl.cli.terminal import exit_codes as endings
from kilnctl.cli.terminal.place import who
from kilnctl.cli.terminal.terminal_lost import leave_with_terminal
from kilnctl.clock import RealClock
from kilnctl.config import home
from kilnctl.errors import ConfigError, KilnctlError, NoController
from kilnctl.link.client import LinkClient
from kilnctl.link.snapshot import Answer, Command, Snapshot

if TYPE_CHECKING:
    from kilnctl.cli.watch.read_back_since import ReadBackSince
    from kilnctl.dashboard.app import WatchApp
    from kilnctl.dashboard.history import Past
    from kilnctl.dashboard.view_state import CutInstead, View

WEB_PORT, MOST_PORTS = 8765, 65535
MOST_FAULTS = 5
NICE = 5  # at 10 a screen hardly kept up with 1 Hz on a machine of two cores and a load of ten


def watch(
    *,
    oven: str | None = None,
    web: bool = False,
    port: int | None = None,
    plain: bool = False,
    fahrenheit: bool = False,
    read_only: bool = False,
) -> int:
    """Open the live screen of the running controller. Leaving it does not affect the heat.

    Parameters
    ----------
    oven
        The oven to show first.
    web
        Serve the screen to a browser on this computer, read-only plus off.
    port
        The local port for --web; left out, 8765.
    plain
        Plain marks in place of symbols, for a bare console.
    fahrenheit
        Begin with °F; the record is not touched.
    read_only
        Show and switch off, nothing else.
    """
    if web or port is not None:
        from kilnctl.cli.terminal.options import refuse_unused  # late: a third of what a first picture costs

        if web:
            refuse_unused("each browser chooses its own look", plain=plain, fahrenheit=fahrenheit)
        else:
            refuse_unused("--port goes with --web", port=port)
        if port is not None and not 1 <= port <= MOST_PORTS:
            raise ConfigError(f"--port {port}: give a number from 1 to {MOST_PORTS}")
    refuse_without_controller(oven)
    if web:
        return in_browser(oven, port or WEB_PORT)
    if not (sys.stdin.isatty() and sys.stdout.isatty()) and "TEXTUAL_DRIVER" not in os.environ:
        raise ConfigError("watch needs a terminal; `kilnctl status` says the same in a few lines")
    attach(oven, plain=plain, fahrenheit=fahrenheit, read_only=read_only)
    return 0


def refuse_without_controller(oven: str | None = None) -> None:
    """Raise NoController where none runs: how to start one, and what a heat that broke off asks for.

    Raises ConfigError where one runs, but not this oven.
    """
    try:
        with LinkClient(home.socket_path()) as client:
            known = {} if oven is None else client.ask(Command("status", who=who())).data["ovens"]
        if oven is not None and oven not in known:
            raise ConfigError(f'no oven "{oven}" is run or watched here: {", ".join(known) or "none is"}')
    except NoController as e:
        from kilnctl.cli.watch import status_report  # late: it loads pydantic, which a screen can do without

        broken_off = status_report.lines(status_report.without_controller())
        raise NoController("\n".join([str(e), *broken_off])) from None


def attach(
    oven: str | None,
    *,
    ctrl_c_off: bool = False,
    plain: bool = False,
    fahrenheit: bool = False,
    read_only: bool = False,
) -> None:
    """Show the screen until the person leaves it. In an attached run Ctrl-C asks for off and leaves."""
    from kilnctl.cli.watch.read_back_since import ReadBackSince
    from kilnctl.config.preferences import units_shown
    from kilnctl.dashboard import history_loader
    from kilnctl.dashboard.app import WatchApp
    from kilnctl.dashboard.feed import Attachment

    since = ReadBackSince()

    def past_of(run: int) -> "Past":
        since.remember()  # a run whose first picture has come has its mark
        return history_loader.load(home.logbook_path(), run)

    def opened(settled: Callable[[], None] | None) -> WatchApp:
        return WatchApp(
            Attachment(home.socket_path()),
            RealClock(),
            oven=oven,
            who=who(),
            load_past=past_of,
            reset=reset_here,
            off_at_ports=off_here,
            last_words=partial(last_words_since, since),
            settled=settled,
            keep=keep_here,
            read_only=read_only,
            ctrl_c_off=ctrl_c_off,
            plain=plain or bare_console(),
            ascii_only=not_utf8(),
            fahrenheit=fahrenheit or units_shown() == "F",
        )

    leave_with_terminal()
    if sys.stdout.isatty():  # a size handed down in words would stand against every change of the terminal's
        for name in ("COLUMNS", "LINES"):
            os.environ.pop(name, None)
    keep_open(opened)


def keep_open(opened: "Callable[[Callable[[], None] | None], WatchApp]") -> None:
    """Run a screen until the person leaves it; where a fault ends it, keep the fault and reopen it.

    `opened` makes one, which calls what it is given when its first picture stands. Raises the last fault of
    too many: what ends every screen at once must be said.
    """
    faults: list[Exception] = []
    settled: Callable[[], None] | None = step_back
    while len(faults) < MOST_FAULTS:
        screen = opened(settled)
        screen.on_fault = faults.append
        if faults:
            screen.say(f"the screen had a fault and was reopened ({endings.kept(faults[-1])})")
        known = len(faults)
        screen.run()
        if len(faults) == known:
            return
        settled = None
    raise faults[-1]


def step_back() -> None:
    """Let every tick go first: a picture may come late, a tick may not. Only a wish where it is refused.

    Called when the first picture stands: who opens a screen on a busy machine wants it at once.
    """
    with contextlib.suppress(OSError):
        os.nice(NICE)
        if hasattr(os, "sched_setscheduler"):  # Linux: never takes a core from who just got it
            os.sched_setscheduler(0, os.SCHED_BATCH, os.sched_param(0))


async def reset_here(s: Snapshot, note: str) -> Answer:
    """Take the latch of an oven off by `kilnctl reset` in a process of its own: it opens the port itself."""
    from kilnctl.permits import presence  # late: it loads pydantic, 8 MB that a screen can do without

    if not (s.simulated or presence.here_now()):
        # the question what the lamp tells cannot be asked under a screen that holds the terminal
        return Answer(
            False, f"you are not at the machine: `kilnctl reset --oven {s.oven}` in a shell asks for more"
        )
    words = ["reset", "--oven", s.oven, "--note", note]
    return await _by_command(words)


def last_words_since(since: "ReadBackSince", utc: str) -> "CutInstead":
    """Return what the supervisor has said since a UTC time, and what anybody has read back as off.

    Nothing where all have been silent.
    """
    from kilnctl.dashboard.view_state import CutInstead
    from kilnctl.marks import supervisor_report

    off = dict.fromkeys(sorted(since.off()), True)
    if (words := supervisor_report.newer(datetime.fromisoformat(utc))) is not None:
        words = replace(words, off=words.off | off)
        return CutInstead(words.line(), words.off)
    return CutInstead(f"heat is off, read back since: {', '.join(off)}", off) if off else CutInstead()


async def off_here() -> Answer:
    """Cut the heat by `kilnctl off` in a process of its own, which goes to the ports itself."""
    return await _by_command(["off"])


async def _by_command(words: list[str]) -> Answer:
    process = await asyncio.create_subprocess_exec(
        sys.executable,
        "-m",
        "kilnctl.cli.main",
        *words,
        stdin=asyncio.subprocess.DEVNULL,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.STDOUT,
    )
    said, _ = await process.communicate()
    lines = said.decode(errors="replace").strip().splitlines()
    return Answer(process.returncode == 0, (lines or ["no answer"])[-1].removeprefix("kilnctl: "))


async def keep_here(s: Snapshot, stamp: dict[str, Any]) -> Answer:
    """Write what hands did or somebody found beside the record of a run that is over."""
    from kilnctl.care import late_entries

    if s.run is None:
        return Answer(False, "there is no run to keep it with")
    now_utc = RealClock().utc().timestamp()
    try:
        said = await asyncio.to_thread(late_entries.keep, home.logbook_path(), s.run, stamp, who(), now_utc)
    except KilnctlError as e:
        return Answer(False, str(e))
    return Answer(True, said)


def bare_console() -> bool:
    """Return whether this terminal lacks symbols: the Linux console and its like."""
    return os.environ.get("TERM", "") in ("linux", "vt100", "vt220", "dumb")


def not_utf8() -> bool:
    """Return whether this terminal does not take UTF-8, by its locale where there is one.

    Python writes UTF-8 in the C locale too, so its own encoding alone does not tell.
    """
    locale = next((os.environ[n] for n in ("LC_ALL", "LC_CTYPE", "LANG") if os.environ.get(n)), "utf8")
    return any("utf8" not in name.lower().replace("-", "") for name in (locale, sys.stdout.encoding or ""))


def in_browser(oven: str | None, port: int) -> int:
    """Serve the screen on the loopback interface until interrupted."""
    if importlib.util.find_spec("textual_serve") is None:
        raise ConfigError('--web needs an extra: pip install "kilnctl[web]"')
    from kilnctl.dashboard.web import serve

    os.environ["KILNCTL_BROWSER"] = "1"  # the screens are this process's children and sign as a browser

    print(
        f"Open http://127.0.0.1:{port} on this computer. It shows everything and can only switch off.\n"
        "A telephone held upright gets a page of its own, without the terminal.\n"
        f"From another computer, through ssh:  ssh -L {port}:127.0.0.1:{port} USER@THIS-COMPUTER\n"
        "It is never served to the network by itself, because it has no password. "
        "Ctrl-C ends the page; it does not affect the heat."
    )
    serve(oven, port, views_of_this_home, gone_words, off_here, RealClock())
    return 0


def views_of_this_home() -> "list[View]":
    """Return the newest picture of every oven. Raises LinkError."""
    from kilnctl.dashboard.view_state import View

    with LinkClient(home.socket_path()) as client:
        found = client.newest_of_all()
        return [View(s, age_s=client.age_s(s), read_only=True, ovens=tuple(found)) for s in found.values()]


def gone_words() -> str:
    """Return what is known of the ovens without a controller: what is latched, hot or not read back."""
    from kilnctl.cli.watch import status_report

    said = status_report.lines(status_report.without_controller())
    return " ".join(said) or "Nothing is running, and no heat was left behind."
