"""The dead-man against a program that is killed: another process holds the heat on, and is shot.

`python -m kilnctl.commissioning.killing SCALE` is that other process; the oven file comes on its input.
"""

import subprocess
import sys
import threading

from kilnctl.clock import Clock, RealClock
from kilnctl.commissioning.bench import Bench
from kilnctl.config.oven import Oven
from kilnctl.devices.hands import open_hands
from kilnctl.devices.probe import Probe
from kilnctl.errors import ConfigError, KilnctlError
from kilnctl.runtime.dead_man import DEAD_MAN_S, LATE_LOOK_S, LOOK_S, Found
from kilnctl.tomlfile import loads

PROCESS = (sys.executable, "-P", "-m", "kilnctl.commissioning.killing")
HOLDS, FAILED = "on", "failed"
COMES_UP_S, LONGEST_S = 30.0, 60.0


def kill(oven_text: str, time_scale: float, probe: Probe, clock: Clock, quiet: bool) -> Found:
    """Start the process, kill it while it heats, and measure how long the output stays on. Never raises.

    `quiet` for a board that any reading keeps on: it is looked at only when its time must be over.
    """
    process = subprocess.Popen(
        (*PROCESS, str(time_scale)), stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    watchdog = threading.Timer(COMES_UP_S, process.kill)
    watchdog.start()
    try:
        assert process.stdin is not None
        assert process.stdout is not None
        process.stdin.write(oven_text)
        process.stdin.close()
        said = process.stdout.readline().strip()
    finally:
        watchdog.cancel()
        process.kill()
        start_s = clock.now_s()
        process.wait()
    if said != HOLDS:
        return Found(False, None, f"the program that was to be killed did not get the output on: {said}")
    return _dropped(probe, clock, start_s, quiet)


def _dropped(probe: Probe, clock: Clock, start_s: float, quiet: bool) -> Found:
    """Look until the heater is off; nothing is written meanwhile."""
    seen_on_s, never = 0.0, threading.Event()
    if quiet:
        clock.wait_until(start_s + DEAD_MAN_S, never)
    while seen_on_s <= DEAD_MAN_S + LATE_LOOK_S:
        on = probe.heater_on()
        held_s = clock.now_s() - start_s
        if on is False:
            return Found(True, held_s, f"program killed: the output dropped by itself after {held_s:.1f} s")
        seen_on_s = held_s
        clock.wait_until(clock.now_s() + LOOK_S, never)
    return Found(False, None, f"program killed: the output was still on after {seen_on_s:.0f} s")


def main() -> int:
    """Hold the heat on and say so; a minute at most."""
    scale = float(sys.argv[1])
    clock = RealClock(scale)
    try:
        oven = loads(sys.stdin.read(), Oven, ConfigError, "oven file")
        hands = open_hands(oven, clock, scale)
        try:
            _hold(Bench(oven, hands, clock))
        finally:
            hands.close()
    except KilnctlError as e:
        print(f"{FAILED}: {e}", flush=True)
    return 1


def _hold(bench: Bench) -> None:
    bench.hands.connect()
    told = False
    while bench.clock.now_s() < LONGEST_S:
        scan = bench.tick(heat=True, watched=False)
        if scan.heat_on and not told:
            told = True
            print(HOLDS, flush=True)


if __name__ == "__main__":
    sys.exit(main())
