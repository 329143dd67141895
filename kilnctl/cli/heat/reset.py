"""The command that clears a latched trip, at the oven: reset."""

import os
import sys
from functools import partial
from pathlib import Path

from kilnctl.cli.heat.simulated_pace import speed_of
from kilnctl.cli.terminal.ask_controller import take_over
from kilnctl.cli.terminal.options import Flag
from kilnctl.cli.terminal.presence_prompt import prove_with
from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import RunRefused
from kilnctl.marks import hot_ovens, latch
from kilnctl.permits.latch_reset import oven_named, reset_latch
from kilnctl.processes.off_order import answering


def reset(
    *,
    oven: str | None = None,
    note: str | None = None,
    repaired: Flag = False,
    time_scale: float | None = None,
) -> int:
    """Clear a latched trip, at the oven: heat off, 30 s of good readings, and a note of cause and remedy.

    Over a network you are asked what the oven's lamp (or horn) signals: no reset from a distance.

    Some trips ask for more: a commissioning step passed again, or a repair. A reset resumes nothing:
    start the next run yourself.

    Parameters
    ----------
    oven:
        The name of the latched oven, or its file; needed where several are latched.
    note:
        What the cause was and what was done about it; asked for when left out.
    repaired:
        You say that the cause was repaired and the independent limit reset by hand.
    time_scale:
        Seconds of the heat in one real second; simulated ovens only. Left out, the simulator's own speed.
    """
    latched = latched_oven(oven)
    if not (latched.simulated or sys.stdin.isatty()):
        raise RunRefused("a reset is done at the oven: start it from a terminal there")
    said = note if note is not None else input("cause, and what was done about it: ")
    said += " (repaired, independent limit reset by hand)" if repaired else ""
    take_over(latched.name)
    scale = speed_of(latched) if time_scale is None else time_scale
    clock = RealClock(scale)
    prove = partial(prove_with, latched, clock=clock)
    with answering(latched, clock) as buses:
        released = reset_latch(latched, said, repaired, clock, scale, print, prove, buses)
    hot_still = any(said.oven == latched.name for said in hot_ovens.signed())
    watch = "; it may still be HOT, and nothing is watching it" if hot_still else ""
    what = (released.kind or released.state).replace("_", " ")
    print(f"{latched.name} has been reset ({what}); the heat is off{watch}")
    return 0


def latched_oven(oven: str | None) -> Oven:
    """Return the oven that is meant. Raises RunRefused where none is latched, or several are."""
    if oven is not None and os.path.isfile(oven):
        return load_oven(Path(oven))
    found = latch.latched_ovens()
    if not found:
        raise RunRefused("no oven is latched")
    if oven is None and len(found) > 1:
        raise RunRefused(f"say which oven: {', '.join(said.oven for said in found)}")
    return oven_named(oven or found[0].oven)
