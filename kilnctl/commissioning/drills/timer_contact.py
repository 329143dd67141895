"""Before any heat: does a contact show the heat, or the timer that holds the power up, as the file says?"""

from kilnctl.commissioning.drills.drill_rig import DrillRig
from kilnctl.config.abilities import DEAD_MAN_S
from kilnctl.interlocks.contract import live
from kilnctl.permits.dead_man_test import Finding
from kilnctl.readings import Scan

FED_TICKS, SEEN_TICKS = 6, 2
SHOWS_TIMER = (
    "with the heater's output off and the timer running, {0} reads on: {0} shows the timer, not the heat. It "
    "sits on the contactor that the timer holds. Isolate and look whether the heater's own relay is open; if "
    "it is, leave {0} out and name that contact as back of dead_man (`kilnctl guide timer-relay`). If it is "
    "not, that relay is welded"
)
SHOWS_HEAT = "with the heater's output off and the timer running, {0} reads off: it shows the heat"

FOLLOWS = "dead_man.back reads on while the timer runs, with the heater's output off: it shows the timer"
NEVER_ON = (
    "the timer was fed, and dead_man.back never read on: look at its number and wire. Does it open with the "
    "heater's own output too? Then it is back of output.heater"
)
TURNED = "dead_man.back reads on while the timer is down, and off while it runs: write inverted = true there"
STAYS_ON = "the timer was fed no more, and dead_man.back stays on: it shows no timer that drops, or is welded"


def fed(bench: DrillRig) -> Finding:
    """Keep the timer up with the heater's output off, and look at the contact; then let the timer run out."""
    if bench.oven.seen_by_timer:
        return _own_contact(bench)
    witness, seen = bench.oven.timers_witness, 0
    for _ in range(FED_TICKS):
        seen += _on(bench.tick(heat=False, watched=False, hold=True))
    give_up_s = bench.clock.now_s() + DEAD_MAN_S + 2.0
    while _on(bench.tick(heat=False, watched=False)) and bench.clock.now_s() < give_up_s:
        pass  # an off that is read back by this contact waits for it
    passed = seen < SEEN_TICKS
    return Finding(passed, None, (SHOWS_HEAT if passed else SHOWS_TIMER).format(witness))


def _own_contact(bench: DrillRig) -> Finding:
    """Do the same where the contact is the timer's own: made while the timer runs, open after it."""
    before = bench.tick(heat=False, watched=False).timer_on
    seen = sum(bool(bench.tick(heat=False, watched=False, hold=True).timer_on) for _ in range(FED_TICKS))
    if seen < SEEN_TICKS:
        return Finding(False, None, TURNED if before else NEVER_ON)
    give_up_s = bench.clock.now_s() + DEAD_MAN_S + 2.0
    while (made := bench.tick(heat=False, watched=False).timer_on) and bench.clock.now_s() < give_up_s:
        pass
    return Finding(made is False, None, FOLLOWS if made is False else STAYS_ON)


def _on(scan: Scan) -> bool:
    return bool(scan.heat_on or live(scan))
