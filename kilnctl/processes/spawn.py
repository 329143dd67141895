"""Starting supervisor and controller so that they outlive the terminal they were started from."""

import os
import subprocess
import sys
from pathlib import Path

from kilnctl.clock import Clock, RealClock
from kilnctl.config import home
from kilnctl.errors import LinkError, NoController, RunRefused
from kilnctl.link.client import LinkClient
from kilnctl.marks import supervisor_report
from kilnctl.stages import REFUSED

SUPERVISOR = (sys.executable, "-P", "-m", "kilnctl.processes.supervisor")
LOOK_S = 0.05
LET_GO = "then `kilnctl off` ends the looking, and other ovens may be heated"
LOG_LIMIT = 1_000_000  # bytes, then the log starts anew and the old one is kept


def ensure_controller(timeout_s: float = 30.0, clock: Clock | None = None) -> None:
    """Return when a controller answers, starting one where there is none.

    Raises RunRefused with the last line of its log when it did not come up, ConfigError in a home that others
    may write to.
    """
    clock = clock or RealClock()
    home.own_home()
    if answers():
        return
    log = log_path()
    process = _start(log)
    give_up_s = clock.real_s() + timeout_s
    while not answers():
        # Refused, because another supervisor lives: its controller is on its way.
        if process.poll() not in (None, REFUSED) or clock.real_s() > give_up_s:
            raise RunRefused(f"the controller did not start: {_why_not(log)} (see {log})")
        clock.pause(LOOK_S)
    process.returncode = 0  # it is on its own now; nobody here will wait for it


def answers() -> bool:
    """Return whether a controller listens on the socket. Raises RunRefused where it cannot be asked."""
    try:
        LinkClient(home.socket_path()).close()
    except NoController:
        return False
    except LinkError as e:
        raise RunRefused(str(e)) from None
    return True


def log_path() -> Path:
    """Return where supervisor and controller write what no screen shows."""
    path = home.home() / "controller.log"
    if path.exists() and path.stat().st_size > LOG_LIMIT:
        path.replace(path.with_suffix(".old.log"))
    return path


def _why_not(log: Path) -> str:
    words = supervisor_report.read()
    if words is not None and not all(words.off.values()):
        return f"looking for heat that was not read back as off: {words.line()}; {LET_GO}"
    return last_line(log)


def last_line(log: Path) -> str:
    """Return the last line of the log that says anything."""
    lines = [line for line in log.read_text(encoding="utf-8", errors="replace").splitlines() if line.strip()]
    return lines[-1].partition(": ")[2] or lines[-1] if lines else "it gave no reason"


def _start(log: Path) -> subprocess.Popen[bytes]:
    folder = home.home().resolve()
    with log.open("ab") as out:
        return subprocess.Popen(
            SUPERVISOR,
            stdin=subprocess.DEVNULL,
            stdout=out,
            stderr=out,
            start_new_session=True,  # no hang-up when the terminal closes, no Ctrl-C of its group
            cwd=folder,
            # The log is UTF-8 in whatever locale: a letter must not end who looks after a heat.
            env={**os.environ, "KILNCTL_HOME": str(folder), "PYTHONIOENCODING": "utf-8"},
        )
