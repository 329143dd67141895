"""The dead-man against a program that is killed: another process holds the heat on, and is shot.

`python -m kilnctl.commissioning.drills.dead_man_kill_test SCALE` is that other process; the oven file comes
on its input.
"""

import os
import select
import subprocess
import sys
import threading
from collections.abc import Callable

from kilnctl.clock import Clock, RealClock
from kilnctl.commissioning.drills.drill_rig import DrillRig
from kilnctl.config.abilities import DEAD_MAN_S
from kilnctl.config.oven import Oven
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.devices.probing.probe import Probe
from kilnctl.errors import ConfigError, KilnctlError
from kilnctl.permits.dead_man_test import LATE_LOOK_S, RE_ARMED, Finding
from kilnctl.permits.heated_ticks import LOOK_S
from kilnctl.processes.tell_on import tell_on
from kilnctl.tomlfile import loads

PROCESS = (sys.executable, "-P", "-m", "kilnctl.commissioning.drills.dead_man_kill_test")
HOLDS, FAILED = "on", "failed"
COMES_UP_S, LONGEST_S = 30.0, 60.0
UNSEEN_S = 1.0  # where nobody looked for longer, the output may have dropped as much sooner
REFUSED_S = 10.0  # a board that is to come on has by then; what it refuses is told sooner than "no word"


def kill(
    oven_text: str,
    time_scale: float,
    probe: Probe,
    clock: Clock,
    quiet: bool,
    go_on: Callable[[], bool] = lambda: True,
) -> Finding:
    """Start the process, kill it while it heats, and measure how long the output stays on. Never raises.

    `quiet` for a board that any reading keeps on: it is looked at only when its time must be over. `go_on` is
    asked some times a second and says False to end it.
    """
    process = subprocess.Popen(
        (*PROCESS, str(time_scale)), stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    try:
        assert process.stdin is not None
        process.stdin.write(oven_text)
        process.stdin.close()
        said = _first_word(process, clock, go_on)
    finally:
        process.kill()
        start_s = clock.now_s()
        process.wait()
        if process.stdout is not None:
            process.stdout.close()
    if said != HOLDS:
        cure = "" if "[[arm]]" in oven_text else RE_ARMED
        why = f"the program that was to be killed did not get the output on: {said}{cure}"
        return Finding(False, None, why)
    return _dropped(probe, clock, start_s, quiet, go_on)


def _first_word(process: "subprocess.Popen[str]", clock: Clock, go_on: Callable[[], bool]) -> str:
    assert process.stdout is not None
    give_up_s = clock.real_s() + COMES_UP_S
    while not select.select([process.stdout], [], [], LOOK_S)[0]:
        if not go_on():
            return "ended before"
        if clock.real_s() > give_up_s:
            return f"no word came within {COMES_UP_S:.0f} s"
    return process.stdout.readline().strip()


def _dropped(probe: Probe, clock: Clock, start_s: float, quiet: bool, go_on: Callable[[], bool]) -> Finding:
    """Look until the heater is off; nothing is written meanwhile."""
    seen_on_s, never = 0.0, threading.Event()
    while quiet and go_on() and clock.now_s() < start_s + DEAD_MAN_S:
        clock.wait_until(min(start_s + DEAD_MAN_S, clock.now_s() + LOOK_S), never)
    while go_on() and seen_on_s <= DEAD_MAN_S + LATE_LOOK_S:
        on = probe.heater_on()
        held_s = clock.now_s() - start_s
        if on is False:
            after = "at most " if held_s - seen_on_s > UNSEEN_S else ""
            said = f"program killed: the output dropped by itself after {after}{held_s:.1f} s"
            return Finding(True, held_s, said)
        seen_on_s = held_s
        clock.wait_until(clock.now_s() + LOOK_S, never)
    return Finding(False, None, f"program killed: the output was still on after {seen_on_s:.0f} s")


def main() -> int:
    """Hold the heat on and say so; a minute at most."""
    scale = float(sys.argv[1])
    clock = RealClock(scale)
    try:
        oven = loads(sys.stdin.read(), Oven, ConfigError, "oven file")
        oven_io = open_oven_io(oven, clock, scale)
        try:
            _hold(DrillRig(oven, oven_io, clock))
        finally:
            oven_io.close()
    except KilnctlError as e:
        tell_on(f"{FAILED}: {e}")
    return 1


def _hold(bench: DrillRig) -> None:
    """Heat until it is killed, a minute at most, and no longer than the drill that started it lives."""
    bench.oven_io.connect()
    told, drill, began_s = False, os.getppid(), bench.clock.real_s()
    while bench.clock.now_s() < LONGEST_S and os.getppid() == drill:
        scan = bench.tick(heat=True, watched=False)
        on = scan.heat_on and bench.taken and not bench.refused
        if not told and not on and bench.clock.real_s() > REFUSED_S + began_s and bench.why:
            tell_on(f"{FAILED}: {bench.why}")
            return
        if on and not told:
            told = True
            tell_on(HOLDS)


if __name__ == "__main__":
    sys.exit(main())
