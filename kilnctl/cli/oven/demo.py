"""`kilnctl demo`: a whole short heat on a simulated oven, in a folder of its own; nothing is left running."""

import contextlib
import os
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from kilnctl.cli.heat.simulated_pace import rounds_s, speed_for
from kilnctl.clock import RealClock
from kilnctl.config import home
from kilnctl.config.oven import Oven, find_oven
from kilnctl.errors import ConfigError, KilnctlError

OVEN = "tempering-oven"
PROFILE = """# Invented: short enough to be watched to its end.
name = "demo"
oven = "tempering-oven"

[[segment]]
kind = "ramp"
label = "heat"
purpose = "hold"
to = "80 C"
rate = "1200 C/h"

[[segment]]
kind = "soak"
label = "soak"
purpose = "hold"
at = "80 C"
time = "2 min"
clock = "oven"

[[segment]]
kind = "cool"
label = "cool a little"
purpose = "hold"
to = "72 C"
measure = "oven"
at_most = "20 min"
"""
LONGEST_TMP_BYTES = 60  # the path of a socket in the folder has room for no more
LEAVES_S = 15.0
READY = "ready\n"


def demo() -> int:
    """Show a whole heat on a simulated oven: nothing real is heated, and nothing is left running.

    It takes a few minutes, in a folder of its own: your logbook and your ovens are not touched. The
    screen is the one of a real heat: q leaves it, F9 switches the heat off, ? lists the keys.
    """
    with _folder() as folder, _ended_by_signals():
        print("Measuring how fast this computer is ...", flush=True)
        speed = held_speed(find_oven(OVEN))
        print(
            f"A simulated {OVEN}, {speed} times as fast as a real one, in {folder}. Nothing real is heated."
        )
        print("It heats to 80 °C, soaks for two minutes and cools a little.", flush=True)
        code, written = _heat(speed, folder)
        print("\n".join(after(folder, speed, written)))
    return code


@contextlib.contextmanager
def _folder() -> Iterator[Path]:
    """Give an empty folder as the kilnctl folder. Raises ConfigError where none can be made."""
    before = os.environ.get("KILNCTL_HOME")
    try:
        roomy = len(os.fsencode(tempfile.gettempdir())) < LONGEST_TMP_BYTES
        folder = Path(tempfile.mkdtemp(prefix="kilnctl-demo-", dir=None if roomy else "/tmp"))
    except OSError as e:
        raise ConfigError(
            f"no folder for the demo can be made: {e.strerror}; set TMPDIR to another"
        ) from None
    os.environ["KILNCTL_HOME"] = str(folder)
    try:
        yield folder
    finally:
        os.environ.pop("KILNCTL_HOME")
        if before is not None:
            os.environ["KILNCTL_HOME"] = before


@contextlib.contextmanager
def _ended_by_signals() -> Iterator[None]:
    """Let a closed terminal and a kill end the demo as Ctrl-C does: heat off, nothing left."""
    names = (signal.SIGTERM, signal.SIGHUP)
    before = [signal.signal(name, signal.default_int_handler) for name in names]
    try:
        yield
    finally:
        for name, handler in zip(names, before, strict=True):
            signal.signal(name, handler)


def held_speed(oven: Oven) -> int:
    """Return the speed that this machine holds: rounds on the line are timed, the heat off."""
    from kilnctl.cli.oven import simulate

    with contextlib.closing(simulate.start(oven, speed=1)):
        return speed_for(max(rounds_s(oven, 1.0)), oven.tick_s)


def _heat(speed: int, folder: Path) -> tuple[int, bool]:
    """Heat, write the record, leave nothing running. Returns exit code and whether there is a page."""
    from kilnctl.cli.heat.run import run

    profile = folder / "demo.toml"
    profile.write_text(PROFILE, encoding="utf-8")
    with _kept(speed):
        code = run(str(profile), part="demo", operator="demo")
    return code, _written(folder / "demo.html")


@contextlib.contextmanager
def _kept(speed: int) -> Iterator[None]:
    """Keep a simulator in a process that outlives this one by so much as it takes to switch the heat off.

    However this process ends, killed too, its end of the pipe closes, and the keeper does the rest.
    """
    words = (sys.executable, "-P", "-m", "kilnctl.cli.oven.demo", str(speed))
    keeper = subprocess.Popen(
        words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, start_new_session=True
    )
    assert keeper.stdin is not None
    assert keeper.stdout is not None
    try:
        if keeper.stdout.readline() != READY:
            raise ConfigError("the simulator of the demo did not start")
        yield
    finally:
        with contextlib.suppress(OSError):
            keeper.stdin.close()
        print(keeper.stdout.read(), end="", flush=True)
        keeper.stdout.close()
        keeper.wait()


def keep(speed: int) -> None:
    """Simulate until the other end of the input closes; then heat off, and wait until nobody runs."""
    from kilnctl.cli.oven import simulate

    with contextlib.closing(simulate.start(OVEN, speed=speed)):
        print(READY, end="", flush=True)
        sys.stdin.read()
        said = _leave()
    with contextlib.suppress(OSError):
        print(said, flush=True)


def _leave() -> str:
    """Heat off, read back; then wait until nobody of this demo runs any more. Returns what came of it."""
    from kilnctl.cli.terminal.ask_controller import ask
    from kilnctl.marks.process_identity import locked
    from kilnctl.processes.heat_off import heat_off
    from kilnctl.processes.supervisor import LOCK

    said = "nothing was left to switch off"
    with contextlib.suppress(KilnctlError):
        said = ask("off", None).why
        ask("let go", None)
    clock = RealClock()
    give_up_s = clock.real_s() + LEAVES_S
    while locked(home.home() / LOCK) and clock.real_s() < give_up_s:
        clock.pause(0.05)
    if locked(home.home() / LOCK):
        heat_off(None, "demo")
    return f"The demo ends, and so does all that it started: {said}."


def _written(page: Path) -> bool:
    from kilnctl.cli.record.export import write_run
    from kilnctl.logbook.readers import Reader

    try:
        with Reader(home.logbook_path()) as reader:
            write_run(reader, 1, "html", page)
    except KilnctlError:
        return False
    return True


def after(folder: Path, speed: int, written: bool) -> list[str]:
    """Return what came of it and what to try next."""
    said = []
    if written:
        said += [*_gaps(speed), f"The record is {folder / 'demo.html'}: open it in a browser."]
    return [
        *said,
        "Nothing is left running. What to try next:",
        f"  KILNCTL_HOME={folder} kilnctl verify 1     is the record whole and unchanged?",
        "  kilnctl guide first-temper     the same by hand, from the recipe to the record",
        "  kilnctl guide own-oven         from the wires of your own oven to its first heat",
    ]


def _gaps(speed: int) -> list[str]:
    from kilnctl.logbook.readers import Reader

    with Reader(home.logbook_path()) as reader:
        info = next(iter(reader.runs()), None)
    if info is None or not info.gaps:
        return []
    return [
        f"This computer was too busy for {speed} times real time: {info.gaps} gaps in the record. "
        "A real oven runs in real time."
    ]


if __name__ == "__main__":
    keep(int(sys.argv[1]))
