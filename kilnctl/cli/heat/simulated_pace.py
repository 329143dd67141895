"""How many times real time this computer holds on a simulated oven, and the refusal of more.

The board's dead-man counts in the simulator's time: where a round on the line takes longer than a tick of it,
the board drops the heat, and the heat trips as it should. So a pace that cannot be held is refused first.
"""

import contextlib
import statistics
from collections.abc import Callable

from kilnctl.clock import Clock, RealClock
from kilnctl.config.oven import Oven
from kilnctl.config.simulator_line import told_speed
from kilnctl.devices.identity import simulator_speed
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.errors import KilnctlError, RunRefused

FASTEST, SHARE = 20, 0.25  # the longest round that was seen may fill this share of a tick
FILLS = 0.5  # a usual round that fills more of a tick leaves no room for the rest of it
OTHERS_S = 0.01  # others get their turn after a round, as in a heat
ROUNDS, FEW_ROUNDS = 60, 20


def speed_for(longest_s: float, tick_s: float) -> int:
    """Return the whole speed at which the longest round fills no more than a share of a tick."""
    return max(1, min(FASTEST, int(SHARE * tick_s / (longest_s + OTHERS_S))))


def rounds_s(oven: Oven, time_scale: float, count: int = ROUNDS) -> list[float]:
    """Return how long rounds on the line of a simulated oven take, the heat off, in real seconds."""
    clock = RealClock()
    oven_io = open_oven_io(oven, clock, time_scale)
    try:
        oven_io.connect()
        return [_round_s(oven_io.scan, oven_io.drive, clock) for _ in range(count)]
    finally:
        oven_io.close()


def _round_s(scan: Callable[[float], object], drive: Callable[[HeatRequest], object], clock: Clock) -> float:
    began_s = clock.real_s()
    scan(began_s)
    drive(HeatRequest(False, 0.0))
    took_s = clock.real_s() - began_s
    clock.pause(OTHERS_S)
    return took_s


def speed_of(oven: Oven) -> float:
    """Return the speed of an oven's simulator: as it stands beside its line or, where it does not, on it.

    A controller that watches an oven after its heat has the line, and nobody else can ask there.
    """
    line = oven.port[oven.device[oven.output.heater.device].port]
    told = told_speed(line.path) if oven.simulated else None
    return simulator_speed(oven, RealClock()) if told is None else told


def pace_of(oven: Oven, asked: float | None) -> float:
    """Return the time scale of a heat, as asked or as the simulator says. Raises RunRefused for too fast."""
    time_scale = speed_of(oven) if asked is None else asked
    took_s: list[float] = []
    if oven.simulated and time_scale > FASTEST:
        with contextlib.suppress(KilnctlError):  # whatever is wrong on the line is said at the start
            took_s = rounds_s(oven, time_scale, FEW_ROUNDS)
    if took_s:
        refuse_too_fast(oven, time_scale, took_s)
    return time_scale


def refuse_too_fast(oven: Oven, time_scale: float, rounds: list[float]) -> None:
    """Raise RunRefused where a usual round on the line leaves no room in a tick of the simulator's time."""
    usual_s, tick_s = statistics.median(rounds), oven.tick_s / time_scale
    if usual_s > FILLS * tick_s:
        raise RunRefused(
            f"{oven.name}: {time_scale:g} times real time is too fast for this computer (a round on the line "
            f"takes {1000 * usual_s:.0f} ms, a tick is {1000 * tick_s:.1f} ms); start the simulator again "
            f"with --speed {speed_for(max(rounds), oven.tick_s)}"
        )
