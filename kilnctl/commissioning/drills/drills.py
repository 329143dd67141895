"""What this program does during a set-up step, through an oven's I/O. Every drill ends with the heat off.

Drills that heat are short, bounded by the machine's limit and by the interlocks, and need a person beside
the oven: that is what the walk asks for.
"""

from collections.abc import Callable, Mapping

from kilnctl.clock import Clock
from kilnctl.commissioning.drills import held_drills, timer_contact
from kilnctl.commissioning.drills.drill_rig import DrillRig
from kilnctl.commissioning.drills.pulse_drill import pulse
from kilnctl.commissioning.drills.seen_on import comes_on
from kilnctl.config.abilities import DEAD_MAN_S
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import OvenIO
from kilnctl.devices.probing.manners import unasked_for
from kilnctl.interlocks.contract import live
from kilnctl.model.oven_model import OvenModel
from kilnctl.permits.dead_man_test import Finding, dead_man
from kilnctl.permits.heated_ticks import LOOK_S
from kilnctl.readings import UNHEARD, Quality, Scan

LOST = 3  # readings that may be lost before the line is bad
HOLD_S, LOOK_LONGER_S = 30.0, 2.0
DOOR_C = LIMIT_C = 150.0
PULL = (
    "pull the data cable now, leave it out until you are asked to plug it in, and count the seconds until "
    "this goes out: {}"
)
RELAYS_LIGHT = "the light of the heater's relay on the board (the heater itself stays dead)"
OUTPUTS_LIGHT = "the light of the instrument's heat output (the heater itself stays dead)"
TIMERS_LIGHT = "the timer relay's light (or listen for the click of the contactor behind it)"
TIMERS_LAMP = "the lamp behind the timer relay's contact, in the heater's place"
REFUSED = "no heat: {}"
ANSWERED = (
    "the line answered again after {:.1f} s, before you were asked to plug the cable in: the heat is off"
)
NEVER_OUT = "the line answered for all of it: the cable was not out, or it was another one; the heat is off"
NO_CALL = (
    "{}: nobody could be called. Compare its number with the board's list (`kilnctl oven change OVEN KEY` "
    "asks for it again), or take it out of the file"
)
OVER_K = 10.0
SENSOR_C, SENSOR_BAND_K = 100.0, 5.0
WARM_K = 2.0
HEAT_UP_S, HANDS_S = 3 * 3600.0, 300.0
LIVE_WHILE_OFF = (
    "every output is off, and signal.heater_live says power at the element: a relay that leaks or is welded, "
    "a wire on its normally closed contact, or a wrong `inverted`. Isolate, and measure before anything else"
)


def light_of(oven: Oven) -> str:
    """Return which light a person looks at to see the dead-man drop the heat: there are several about."""
    if oven.timer:
        return TIMERS_LIGHT if oven.dead_man_seen else TIMERS_LAMP
    return RELAYS_LIGHT if oven.output.heater.kind in ("switch", "pulse") else OUTPUTS_LIGHT


def bus(bench: DrillRig) -> Finding:
    """Look at the bus: `connect` has checked identities; outputs must be off, and nobody else talks.

    A temperature that cannot be is for the cold check, which tells what would make it right.
    """
    for _ in range(LOST):
        scan = bench.tick(heat=False)
        if scan.process.quality not in UNHEARD:
            break
    if not (scan.process.good or scan.process.quality is Quality.OUT_OF_RANGE):
        return Finding(False, None, f"no temperature: {scan.process.why or scan.process.quality}")
    states = (("heater", scan.heat_on), ("contactor", scan.contactor_on))
    if on := [f"output.{name}" for name, state in states if state]:
        said = f"{' and '.join(on)} read ON although off was just sent"
        return Finding(False, None, f"{said}: this board must not be used")
    if scan.heater_live:
        return Finding(False, None, LIVE_WHILE_OFF)
    if scan.link.foreign:
        return Finding(False, None, unasked_for(bench.oven, scan.link.foreign_said))
    if no_call := refused_call(bench.oven_io):
        return Finding(False, None, no_call)
    odd = "" if scan.process.good else f"; {scan.process.why}: the cold check tells what would make it right"
    return Finding(True, None, f"every output reads off, no foreign messages{odd}")


def refused_call(oven_io: OvenIO) -> str:
    """Return which of horn and lamp takes no word, told off a few times, and what to do; "" for none.

    A board whose watchdog has tripped may refuse all words: it is armed for this, the heat off.
    """
    for _ in range(LOST):
        if not (said := oven_io.sound(horn=False, lamp=False)):
            return ""
    if oven_io.arm_for_calls():
        said = oven_io.sound(horn=False, lamp=False)
    return NO_CALL.format(said) if said else ""


def hold(bench: DrillRig) -> Finding:
    """Switch on, see it on, then keep it on for half a minute so that the data cable can be pulled meanwhile.

    Once the line is silent it goes on until that has lasted longer than any dead-man may take. As soon as the
    line answers again the heat stays off: a hand may be at the lamp. `value` is how long it was silent.
    """
    bench.once = True
    if not_on := comes_on(bench):
        return Finding(False, None, not_on)
    bench.tell(PULL.format(light_of(bench.oven)))
    heard_s = began_s = bench.clock.now_s()
    silent = False
    while (now_s := bench.clock.now_s()) < heard_s + DEAD_MAN_S + LOOK_LONGER_S:
        if now_s >= began_s + HOLD_S and not silent:
            return Finding(False, 0.0, NEVER_OUT)
        silent = bench.tick(heat=True, watched=False).heat_on is None
        if bench.refused and not silent:
            return Finding(False, None, REFUSED.format(bench.refused))
        if bench.over and not silent:
            silent_s = bench.clock.now_s() - heard_s
            return Finding(False, silent_s, ANSWERED.format(silent_s))
        heard_s = heard_s if silent else bench.clock.now_s()
    return Finding(True, bench.clock.now_s() - heard_s, "silent to the end")


def starved(bench: DrillRig) -> Finding:
    """Heat, then stop feeding the dead-man and go on otherwise, for a person who watches a lamp."""
    if not_on := comes_on(bench):
        return Finding(False, None, not_on)
    bench.tell("the lamp must be on now; from here on the timer hears nothing: count the seconds")
    for _ in range(int((DEAD_MAN_S + 2.0) / LOOK_S)):
        bench.tick(heat=True, feed=False, watched=False, every_s=LOOK_S)
    bench.tell("the lamp must be out by now")
    return Finding(True, None, "no longer fed; watch the lamp")


def reading(bench: DrillRig) -> Finding:
    """Read the process temperature, with all that belongs to it."""
    process = bench.tick(heat=False).process
    return Finding(
        process.good, process.value, f"no reading: {process.quality}" if not process.good else "read"
    )


def warmed(bench: DrillRig) -> Finding:
    """Wait until the sensor is warmed by hand or water: it must move up."""
    bench.without = ("sensor_moves", "sensor_noise", "rising_while_off", "heat_without_demand")
    start_c = bench.tick(heat=False).process.value
    if start_c is None:
        return Finding(False, None, "no reading")
    bench.tell(
        "warm the sensor now, by hand or in warm water; no hand in the oven before the isolator is off"
    )
    for _ in range(int(HANDS_S / bench.oven.tick_s)):
        scan = bench.tick(heat=False)
        bench.tell_now_and_then(scan)
        value_c = scan.process.value
        if value_c is not None and value_c > start_c + WARM_K:
            return Finding(True, value_c - start_c, f"the sensor moves up when warmed ({value_c:.1f} °C)")
        if value_c is not None and value_c < start_c - WARM_K:
            said = "the sensor goes DOWN when warmed: its two leads are swapped"
            return Finding(False, value_c - start_c, said)
    return Finding(
        False,
        None,
        "the reading did not move within five minutes: was another sensor warmed, or do its "
        "wires touch somewhere?",
    )


def _gone(scan: Scan, powered: bool = True) -> bool:
    """Return whether the limit has taken the power away: by the element's own sign where there is one."""
    alive = live(scan)
    return scan.limit_open is True if alive is None else powered and not alive


def limit(bench: DrillRig) -> Finding:
    """Heat until the independent limit, set to 150 °C, takes the power away."""
    bench.without = ("limit_open", "heater_dead", "no_progress", "output_disobeys", "energy_balance")
    bench.tell(f"heating until the limit opens, at most to {LIMIT_C + OVER_K:.0f} °C; Ctrl-C cuts the heat")
    powered = highest_c = 0.0

    def opened(scan: Scan) -> bool:
        nonlocal powered, highest_c
        powered += float(live(scan) is True)
        highest_c = max(highest_c, scan.process.value or 0.0)
        return _gone(scan, powered > 3)

    ceiling_c = LIMIT_C + OVER_K

    def over(scan: Scan) -> bool:
        return opened(scan) or (scan.process.value or 0.0) >= ceiling_c

    scan = bench.heat_to(ceiling_c + OVER_K, HEAT_UP_S, over)
    if scan is None:
        return Finding(False, None, bench.trip.reason if bench.trip else "it was not reached in three hours")
    at_c = scan.process.value
    if _gone(scan):
        return Finding(True, at_c, f"the power was gone at {highest_c:.0f} °C")
    if scan.limit_open:
        said = "the limit reads open, yet the element is live: somebody has bridged it"
        return Finding(False, at_c, said)
    if live(scan) is None:
        return Finding(
            True, None, f"stopped at {highest_c:.0f} °C; nothing here shows whether the limit opened"
        )
    return Finding(False, at_c, f"at {highest_c:.0f} °C the limit had not opened")


def door(bench: DrillRig) -> Finding:
    """Heat to 150 °C, wait for the door to be opened: the element must be dead."""
    goal_c = min(DOOR_C, bench.oven.limit_c - 40.0)
    bench.tell(f"heating to {goal_c:.0f} °C; open the door when it is reached")
    if bench.heat_to(goal_c, HEAT_UP_S, lambda scan: (scan.process.value or 0.0) >= goal_c) is None:
        return Finding(False, None, bench.trip.reason if bench.trip else "it was not reached in three hours")
    bench.tell("open the door now")
    if bench.heat_to(goal_c, HANDS_S, lambda scan: scan.door_open is True) is None:
        said = "no open door was seen in five minutes: look at the switch, its wire and register number"
        return Finding(False, None, bench.trip.reason if bench.trip else said)
    after = bench.tick(heat=False)
    dead = live(after) is not True
    return Finding(dead, None, f"door: seen; the element is {'dead' if dead else 'STILL LIVE'}")


def sensor(bench: DrillRig) -> Finding:
    """Heat to 100 °C, wait for the sensor to be unplugged and count the ticks to the cut."""
    bench.tell(f"heating to {SENSOR_C:.0f} °C; unplug the sensor when it is reached")
    scan = bench.heat_to(SENSOR_C, HEAT_UP_S, lambda scan: (scan.process.value or 0.0) >= SENSOR_C)
    if scan is None:
        return Finding(False, None, bench.trip.reason if bench.trip else "it was not reached in three hours")
    bench.tell("unplug the sensor now")
    for _ in range(int(HANDS_S / bench.oven.tick_s)):
        value_c = scan.process.value
        scan = bench.tick(heat=value_c is not None and value_c < SENSOR_C + SENSOR_BAND_K)
        if not scan.process.good:
            after = bench.tick(heat=False)
            off = after.heat_on is False
            return Finding(
                off, 1.0 if off else None, f"sensor gone ({scan.process.quality}); heat off: {off}"
            )
        if bench.trip is not None:
            return Finding(False, None, bench.trip.reason)
    return Finding(False, None, "the sensor was not unplugged within five minutes")


def weld(bench: DrillRig) -> Finding:
    """Heat for three ticks, which closes the contactor, then wait for heat that comes all the same."""
    for _ in range(3):
        bench.tick(heat=True)
    bench.tell("hold the relay closed now by its test means")
    for _ in range(600):
        bench.tell_now_and_then(bench.tick(heat=False, hold=True))
        if bench.trip is not None:
            off = bench.oven_io.off()
            return Finding(off, None, f"{bench.trip.reason}; everything read back as off: {off}")
    return Finding(False, None, "nothing was noticed in ten minutes")


def horn(bench: DrillRig) -> Finding:
    """Sound horn and lamp for five seconds; a person says whether it was heard and seen."""
    if no_call := refused_call(bench.oven_io):
        return Finding(False, None, no_call)
    refused = ""
    for second in range(6):
        refused = bench.oven_io.sound(second < 5, second < 5) if second < 5 else refused
        bench.tick(heat=False)
    bench.oven_io.sound(horn=False, lamp=False)
    return Finding(not refused, None, NO_CALL.format(refused) if refused else "sounded for five seconds")


DRILLS: dict[str, Callable[[DrillRig], Finding]] = {
    "bus": bus,
    "fed": timer_contact.fed,
    "dead_man": dead_man,
    "hold": hold,
    "starved": starved,
    "reading": reading,
    "pulse": pulse,
    "warmed": warmed,
    "limit": limit,
    "contactor_dropped": held_drills.contactor_dropped,
    "relay_dropped": held_drills.relay_dropped,
    "limit_opened": held_drills.limit_opened,
    "stop_button": held_drills.stop_button,
    "door": door,
    "sensor": sensor,
    "weld": weld,
    "horn": horn,
}


# These heat, in a process under a supervisor; the others only look, or sound the horn.
ISOLATED = ("fed", "dead_man", "hold", "starved")  # with the heater isolated, or a lamp in its place
DROPS = ("contactor_dropped", "relay_dropped", "limit_opened", "stop_button")
HEAT = (*ISOLATED, "pulse", "limit", *DROPS, "door", "sensor", "weld")


def run(
    name: str,
    oven: Oven,
    oven_io: OvenIO,
    clock: Clock,
    *,
    model: OvenModel | None = None,
    neighbours: Mapping[str, OvenIO] | None = None,
    tell: Callable[[str], object] = lambda _line: None,
    go_on: Callable[[], bool] = lambda: True,
) -> Finding:
    """Connect, drill, and heat off whatever happens. Raises DeviceError or RunRefused.

    `go_on` is asked some times a second and says False to end the drill.
    """
    try:
        oven_io.connect()
        bench = DrillRig(oven, oven_io, clock, model=model, neighbours=neighbours, tell=tell, go_on=go_on)
        bench.isolated = name in ISOLATED
        found = DRILLS[name](bench)
    finally:
        go_on()  # each of the two offs takes a slow board a second, which is no hang
        off = oven_io.off()
        go_on()
        oven_io.close()
    if off:
        return found
    why = getattr(oven_io, "why", "")
    left_on = f"the output did NOT read back as off{why and ': '}{why}"
    return Finding(False, found.value, left_on if found.passed else f"{found.line}; {left_on}")
