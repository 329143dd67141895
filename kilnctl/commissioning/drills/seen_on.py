"""A person is told that something is on only once it reads on and its heat has had time to come.

Told before, a lamp that was never lit counts as a dead-man that works, and a meter looks too early.
"""

from kilnctl.commissioning.drills.drill_rig import REFUSALS, DrillRig
from kilnctl.devices.outputs import takes_amount
from kilnctl.permits.dead_man_test import seen_on

COMES_ON_S = 20.0
# What regulates by itself, or is told a power, switches its relay in cycles: 2 to 5 s are usual with a
# solid-state relay (common practice, no single source).
CYCLE_S = 5.0
COMING = "the heat is being switched on; do nothing before the next line"
NOT_ON = "the heat was not on{}: nothing is proved"


def comes_on(bench: DrillRig) -> str:
    """Heat until the output reads on, where the dead-man acts, and its cycle is over; return why it is not.

    The interlocks do not look here: this heat goes to a lamp, or to a heater that is isolated.
    """
    bench.tell(COMING)
    end_s, on_s, refused = bench.clock.now_s() + COMES_ON_S, 0.0, 0
    while bench.clock.now_s() < end_s and not bench.over and refused < REFUSALS:
        on = seen_on(bench.oven, bench.tick(heat=True, watched=False)) and not bench.over
        refused = refused + 1 if bench.refused else 0
        on_s = on_s + bench.oven.tick_s if on and not refused else 0.0
        if on_s > cycle_s(bench):
            return ""
    return NOT_ON.format(last_answer(bench))


def cycle_s(bench: DrillRig) -> float:
    """Return for how long an output has to read on before its heat has surely come."""
    return CYCLE_S if takes_amount(bench.oven.output.heater) else 0.0


def last_answer(bench: DrillRig) -> str:
    """Return what the wire said of it last, after a comma."""
    why = bench.refused or bench.why
    return f", {why}" if why else ""
