"""Before any heat: does the contact that is to show the heat show only the timer that holds the power up?"""

from kilnctl.commissioning.drill_rig import DrillRig
from kilnctl.config.abilities import DEAD_MAN_S
from kilnctl.interlocks.contract import live
from kilnctl.permits.dead_man_test import Finding
from kilnctl.readings import Scan

FED_TICKS, SEEN_TICKS = 6, 2
SHOWS_TIMER = (
    "with the heater's output off and the timer running, {0} reads on: {0} shows the timer, not the heat. It "
    "sits on the contactor that the timer holds. Isolate and look whether the heater's own relay is open; if "
    "it is, leave {0} out of the oven file (`kilnctl guide timer-relay`). If it is not, that relay is welded"
)
SHOWS_HEAT = "with the heater's output off and the timer running, {0} reads off: it shows the heat"


def fed(bench: DrillRig) -> Finding:
    """Keep the timer up with the heater's output off, and look at the contact; then let the timer run out."""
    witness, seen = bench.oven.timers_witness, 0
    for _ in range(FED_TICKS):
        seen += _on(bench.tick(heat=False, watched=False, hold=True))
    give_up_s = bench.clock.now_s() + DEAD_MAN_S + 2.0
    while _on(bench.tick(heat=False, watched=False)) and bench.clock.now_s() < give_up_s:
        pass  # an off that is read back by this contact waits for it
    passed = seen < SEEN_TICKS
    return Finding(passed, None, (SHOWS_HEAT if passed else SHOWS_TIMER).format(witness))


def _on(scan: Scan) -> bool:
    return bool(scan.heat_on or live(scan))
