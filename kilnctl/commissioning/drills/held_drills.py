"""The drills of the drop test: something is really held while a person's meter, or a contact, looks.

0 V on a meter proves nothing of a contactor while nothing asks for heat.
"""

from collections.abc import Callable

from kilnctl.commissioning.drills.drill_rig import DrillRig, HeatRefused
from kilnctl.commissioning.drills.seen_on import COMES_ON_S, COMING, cycle_s, last_answer
from kilnctl.config.device_keys import ModbusDevice
from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import live
from kilnctl.permits.dead_man_test import Finding
from kilnctl.readings import Scan

SETTLE_TICKS = 2  # what was just written is read in the next tick; a contactor takes a moment too
CLOSES_TICKS = 3
SHOWN_S, LOOK_S, HAND_S, STOP_S = 15.0, 20.0, 45.0, 120.0
BELOW_LIMIT_K = 40.0
# What such a drill is there to provoke; a stop may cut the board's own supply too.
PROVOKED = ("heater_dead", "no_progress", "energy_balance", "output_disobeys", "limit_open")
SILENT = ("sensor_lost", "link_lost", "signal_lost", "supply")
TOO_HOT = "let it cool to below {:.0f} °C first: the relay is held for up to two minutes"
NOT_HELD = "the relay was not held (it reads off){}: nothing is proved"
NOT_HEARD = "the board did not answer while the relay was to be held: nothing is proved"
NOT_CLOSED = "the safety contactor was not held (it reads off){}: nothing is proved"
NOTHING_TO_CUT = (
    "the board refuses heat while its contactor output is off: nothing to cut, and nothing is proved of the "
    "contactor itself. {}"
)
STILL_LIVE = "the element is STILL LIVE: isolate, then measure"
NOT_GONE = (
    "the power did not go within two minutes: does it cut the element's supply, and does heater_live "
    "(or current_a) see power at the element, not what the board puts out?"
)


def wired_for(drill: str, oven: Oven) -> Oven:
    """Return the oven as a drill switches it: to hold the relay alone, it knows of no safety contactor.

    A contact that shows the relay may sit behind the contactor, so there the output itself is read back.
    """
    if drill != "contactor_dropped":
        return oven
    heater = oven.output.heater
    if isinstance(oven.device[heater.device], ModbusDevice):
        heater = heater.model_copy(update={"back": None})
    return oven.model_copy(
        update={"output": oven.output.model_copy(update={"contactor": None, "heater": heater})}
    )


def contactor_dropped(bench: DrillRig) -> Finding:
    """Hold the relay alone; the contactor has been off since the last drill, and stays so."""
    bench.without = PROVOKED
    try:
        why, scan = _comes_on(bench)
    except HeatRefused as refused:
        return _nothing_to_cut(bench, str(refused))
    if not why:
        bench.tell(f"the relay is held, the safety contactor is dropped: {LOOK_S:.0f} s; read the meter")
        why, scan = _held(bench, LOOK_S)
    if not why and live(scan):
        why = STILL_LIVE
    return Finding(not why, None, why or "the relay was held, the safety contactor dropped")


def _nothing_to_cut(bench: DrillRig, refused: str) -> Finding:
    """Judge heat refused with the contactor off. Whether it is taken with it on, the next drill shows."""
    for _ in range(SETTLE_TICKS):
        bench.tick(heat=False)
    if bench.trip is not None or not bench.dark:
        return Finding(False, None, refused)
    return Finding(True, None, NOTHING_TO_CUT.format(refused), nothing_to_cut=True)


def relay_dropped(bench: DrillRig) -> Finding:
    """Close contactor and timer by a moment of heat, then hold them with the relay dropped."""
    for _ in range(CLOSES_TICKS):
        bench.tick(heat=True)
    settles = SETTLE_TICKS + int(cycle_s(bench) / bench.oven.tick_s)
    for tick in range(settles + int(LOOK_S / bench.oven.tick_s)):
        if tick == settles:
            bench.tell(f"the relay is dropped, all else is held: {LOOK_S:.0f} s; read the meter")
        scan = bench.tick(heat=False, hold=True)
        if bench.trip is not None:
            return Finding(False, None, bench.trip.reason)
        if tick >= SETTLE_TICKS and scan.contactor_on is False:
            return Finding(False, None, NOT_CLOSED.format(last_answer(bench)))
    return Finding(not live(scan), None, STILL_LIVE if live(scan) else "the relay was dropped, all else held")


def stop_button(bench: DrillRig) -> Finding:
    """Hold the heat until the emergency stop, or the isolator, is seen or said to have cut it."""
    return _cut_by_hand(
        bench, "emergency stop", "press the emergency stop now (the isolator where none is fitted)"
    )


def limit_opened(bench: DrillRig) -> Finding:
    """Hold the heat until the independent limit is opened by hand."""
    return _cut_by_hand(
        bench, "independent limit", "open the independent limit now, by its test button or cold setting"
    )


def _cut_by_hand(bench: DrillRig, what: str, hand: str) -> Finding:
    bench.without = PROVOKED
    why, scan = _comes_on(bench, lambda scan: live(scan) is not False)
    if not why:
        bench.tell(
            f"the heat is held: {SHOWN_S:.0f} s; the meter must show mains voltage (a clamp: current) now"
        )
        why, scan = _held(bench, SHOWN_S)
    if not why and live(scan) is False:
        why = "the element did not get power"
    if why:
        return Finding(False, None, why)
    bench.without = (*PROVOKED, *SILENT)
    senses = live(scan) is not None
    bench.tell(f"{hand}, and read the meter again")
    why, scan = _held(bench, STOP_S if senses else HAND_S, by_hand=True)
    if not why and live(scan):
        why = NOT_GONE
    seen = "seen, and the element is dead" if senses else "the heat was held all the time"
    return Finding(not why, None, why or f"{what}: {seen}")


def _comes_on(bench: DrillRig, powered: Callable[[Scan], bool] = lambda _scan: True) -> tuple[str, Scan]:
    """Heat until it reads on, has power, and its cycle is over; return why it does not read on, and a look.

    A meter that is read before that shows nothing. One without power is told by what follows.
    """
    bench.tell(COMING)
    end_s = bench.clock.now_s() + COMES_ON_S
    why, scan = _held(bench, bench.oven.tick_s)
    while not why and bench.clock.now_s() < end_s:
        if scan.heat_on and powered(scan):
            return _held(bench, bench.oven.tick_s + cycle_s(bench))
        why, scan = _held(bench, bench.oven.tick_s)
    if not why and not scan.heat_on:
        why = NOT_HEARD if scan.heat_on is None else NOT_HELD.format(last_answer(bench))
    return why, scan


def _held(bench: DrillRig, for_s: float, by_hand: bool = False) -> tuple[str, Scan]:
    """Heat for so long; return why that was no holding, empty where it was, and the last look.

    `by_hand`: something is to cut it meanwhile; then its contact `back` may fall, and its board fall silent
    (which has then been told no off), and it is over once the element is seen dead.
    """
    may_fall = by_hand and bench.oven.output.heater.back is not None
    for tick in range(int(for_s / bench.oven.tick_s)):
        scan = bench.tick(heat=True)
        process_c = scan.process.value
        if tick == 0 and process_c is not None and process_c > bench.oven.limit_c - BELOW_LIMIT_K:
            return TOO_HOT.format(bench.oven.limit_c - BELOW_LIMIT_K), scan
        if bench.trip is not None:
            return bench.trip.reason, scan
        if by_hand and live(scan) is False:
            break
        if tick < SETTLE_TICKS:
            continue
        if scan.heat_on is False and not may_fall:
            return NOT_HELD.format(last_answer(bench)), scan
        if scan.heat_on is None and not by_hand:
            return NOT_HEARD, scan
    return "", scan


def _why(bench: DrillRig) -> str:
    return f", {bench.why}" if bench.why else ""
