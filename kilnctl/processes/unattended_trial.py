"""Before a live oven is left alone: does a message go out, does the board still drop the output by itself?

In the oven's own thread, with everything of a heat around it: latch, mark, beats, off. Some 15 s.
"""

import subprocess
import sys

from kilnctl.clock import Clock
from kilnctl.config import home
from kilnctl.config.channels import load_messages
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import OvenIO
from kilnctl.errors import KilnctlError, RunRefused
from kilnctl.logbook.entries import CommissioningStep
from kilnctl.logbook.writer import Logbook
from kilnctl.permits import step_results
from kilnctl.permits.dead_man_test import dead_man
from kilnctl.permits.heated_ticks import Ticks, Watched
from kilnctl.permits.setup_steps import find_step
from kilnctl.processes.oven_thread import Hosted

STEP = "dead-man test"
MESSENGER = (
    sys.executable,
    "-P",
    "-m",
    "kilnctl.processes.messenger",
)  # loads what no process that heats may
MESSAGE_S, LOOK_S = 90.0, 0.1


def try_before_it_is_left(oven: Oven, oven_text: str, hosted: Hosted) -> str:
    """Return why this oven is not left alone, empty where it may be. Never raises; the heat is off after."""
    oven_io: OvenIO = hosted.heat.station.oven_io
    try:
        _messages(hosted)
        if oven.has_dead_man:
            bench = Watched(oven, oven_io, hosted.clock, hosted.go_on)
            with Logbook(home.logbook_path()) as book:  # the record's own is the recorder's thread's
                kept = self_test(book, oven, oven_text, bench)
            hosted.heat.recorder.event("self-test", kept.note)
    except KilnctlError as e:
        return str(e)
    finally:
        oven_io.off()
        hosted.go_on()
    return ""


def self_test(book: Logbook, oven: Oven, oven_text: str, bench: Ticks) -> CommissioningStep:
    """Measure the dead-man, store it, and return what was stored: it renews the date of its set-up step.

    Raises RunRefused where the output held too long (stored too, as failed).
    """
    found = dead_man(bench)
    step, now_s = find_step(STEP), bench.clock.utc().timestamp()
    note = f"self-test: {found.line}"
    kept = step_results.keep(book, oven, oven_text, step, found.passed, now_s, value=found.value, note=note)
    if not kept.passed:
        raise RunRefused(f"the dead-man failed its self-test: {found.line}; nothing more is heated")
    return kept


def _messages(hosted: Hosted) -> None:
    """Send a test over every channel that is set up, from a process of its own. Raises RunRefused."""
    if not load_messages().channel:
        return
    words = (*MESSENGER, "--test", hosted.name)
    process = subprocess.Popen(words, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, text=True)
    lines = _said_by(process, hosted, hosted.clock)
    for line in lines:
        hosted.heat.recorder.event("message test", line)
    bad = [line for line in lines if line.startswith("WRONG")]
    if bad:
        raise RunRefused(f"{bad[0]}: repair the channel, or take it out of messages.toml")


def _said_by(process: "subprocess.Popen[str]", hosted: Hosted, clock: Clock) -> list[str]:
    give_up_s = clock.real_s() + MESSAGE_S
    while process.poll() is None:
        if not hosted.go_on() or clock.real_s() > give_up_s:
            process.kill()
            process.communicate()
            raise RunRefused("off was asked" if hosted.runner.off_asked else "the message test took too long")
        clock.pause(LOOK_S)
    return process.communicate()[0].splitlines()
