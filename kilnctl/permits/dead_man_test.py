"""Does the board drop the heat by itself? Measured at the set-up, and before each heat that is left alone."""

from dataclasses import dataclass

from kilnctl.config.abilities import DEAD_MAN_S, holds_for_s
from kilnctl.config.device_keys import LineDevice
from kilnctl.config.oven import Oven
from kilnctl.devices.outputs import OWN_LIMIT
from kilnctl.interlocks.contract import live
from kilnctl.permits.heated_ticks import LOOK_S, Ticks
from kilnctl.readings import UNHEARD, Quality, Scan

CLOCK_SHARE = 1.1  # a board's clock is not ours
LATE_LOOK_S = 0.5
BLIND_S = 3.0  # between the last look that saw it on and the first that saw it off
TRIES, RESTARTS = 4, 2  # so many whole tries; a board that fell silent in so many of them restarts
NO_READING = "no heat, because signal.process gives no reading: {}. The cold check tells how to mend it"
NOT_TAKEN = "output.heater reads on, but not by what is written to it: {}. The dead-man is not proved"
NO_POWER = "; or output.heater is not the place that heats: it reads on, and the element has no power"
ARMED = (
    '. Where its list says "arm", "enable" or "start" of the watchdog, or gives its time in a register that '
    "is 0 after power-up, write that one as arm, or as dead_man where each writing starts the time again"
)
ONLY_WRITTEN = (
    ", or what is read back is only what was written: where its list has a register that shows the real "
    "output, name that as back (`kilnctl oven change {} output.heater.back`)"
)
STAYS = (
    ". Only its set-point was looked at, and that stays when an instrument goes to stand-by: where its list "
    "has a mode or an output that is 0 then, write that as back of output.heater"
)
RE_ARMED = '; where its list says "latch", "re-arm" or "reset" of the watchdog, write that one as arm'
SLOWER = (
    ". Set the board's time shorter; or, where its list gives a longer one of at most "
    f"{DEAD_MAN_S:g} s, write that as drops_after"
)
NO_PLACE = "; it has no such place: look in its list for the right one, and whether that list counts from 1"
TOO_LONG = (
    ". The file says that it holds for {:g} s, and {:g} s pass: set the board's time, or its timer's, "
    "shorter; where that cannot be, put a timer relay of a shorter time behind it"
)
CHANGES = '"must change", write = 1, then = 0; "one more each time", counts_to'


@dataclass(frozen=True, slots=True)
class Finding:
    """What a drill found: passed or not, the value that is stored, and a line for a person.

    `any_traffic`: readings alone keep a board's output on. `nothing_to_cut`: it takes no heat while its
    contactor is off.
    """

    passed: bool
    value: float | None
    line: str
    any_traffic: bool = False
    nothing_to_cut: bool = False


class Missed(Exception):
    """A look that proves nothing, either way: `finding` is told where no further try helps.

    `silent`: the board fell silent with the heat on, as one does that its watchdog restarts.
    """

    def __init__(self, finding: Finding, silent: bool = False) -> None:
        super().__init__(finding.line)
        self.finding, self.silent = finding, silent


def dead_man(bench: Ticks) -> Finding:
    """Switch on, stop feeding the dead-man, and measure how long the output holds.

    For a reading that fails off is sent, and what opens a lost port again may restart the board: so a try
    with a look missed proves nothing, and all of it is done anew, from switching on. What is believed is one
    whole try. A board that falls silent in two of them is one that restarts as it drops the heat.
    """
    silences, silent_s = 0, 0.0
    for tries_left in reversed(range(TRIES)):
        try:
            return _starved(bench) if silences < RESTARTS else _restarting(bench, silent_s)
        except Missed as missed:
            back_s = _until_back(bench) if tries_left else None
            if back_s is None:
                return missed.finding
            if missed.silent:
                silences, silent_s = silences + 1, max(silent_s, back_s)
    raise AssertionError("the last try returns")


def _until_back(bench: Ticks) -> float | None:
    """Return after how many seconds the board reads again, None where it does not within those of a drop."""
    began_s = bench.clock.now_s()
    while bench.clock.now_s() - began_s <= DEAD_MAN_S:
        if bench.tick(heat=False, watched=False, every_s=LOOK_S).process.good:
            return bench.clock.now_s() - began_s
    return None


def _starved(bench: Ticks) -> Finding:
    """Stop feeding with the readings going on; where these keep the output on, once more in silence.

    A line board promises that nothing but FED keeps it on, so there the heater is written anew in every look.
    """
    line_board = on_a_line_board(bench.oven)
    scan = _switched_on(bench, ticks=4)
    if not scan.process.good:
        return Finding(False, None, NO_READING.format(scan.process.why or scan.process.quality))
    if bench.refused or not seen_on(bench.oven, scan):
        return _never_on(bench)
    start_s, limit_s, bad = bench.clock.now_s(), longest_s(bench.oven), _bad(scan)
    most_s, seen_on_s = min(DEAD_MAN_S, CLOCK_SHARE * limit_s) + LATE_LOOK_S, 0.0
    while seen_on_s <= DEAD_MAN_S + 2.0:
        scan = bench.tick(heat=True, feed=False, watched=False, every_s=LOOK_S, again=line_board)
        held_s = bench.clock.now_s() - start_s
        if not scan.process.good and scan.process.quality not in UNHEARD:
            return spoilt(scan)  # the sensor has spoken: that is no look that was missed
        if not scan.process.good or seen_on(bench.oven, scan) is None or (line_board and _bad(scan) > bad):
            silent = scan.process.quality is Quality.NO_REPLY and seen_on_s >= bench.oven.tick_s
            raise Missed(spoilt(scan), silent)
        if seen_on(bench.oven, scan) is False:
            return _dropped(bench.oven, seen_on_s, held_s, most_s, limit_s)
        seen_on_s = held_s
    if line_board:
        said = (
            f"still on {seen_on_s:.0f} s after the last FED: this firmware lets SEE or PUT keep the heat on"
        )
        return Finding(False, None, f"{said}, or never drops it; no live heat")
    return _in_silence(bench, limit_s)


def _switched_on(bench: Ticks, ticks: int) -> Scan:
    """Ask for heat for some ticks; return the last look.

    Raises Missed where that was not answered, or is off and a tick came late: it may have dropped then.
    """
    late_s, before_s = 0.0, bench.clock.now_s()
    for _ in range(ticks):
        scan = bench.tick(heat=True, watched=False)
        late_s = max(late_s, scan.at_s - before_s - bench.oven.tick_s)
        before_s = scan.at_s
    if scan.process.quality in UNHEARD:
        raise Missed(Finding(False, None, NO_READING.format(scan.process.why or scan.process.quality)))
    if scan.process.good and seen_on(bench.oven, scan) is None and "refuses" not in bench.why:
        raise Missed(spoilt(scan))
    if seen_on(bench.oven, scan) and not (bench.taken or bench.refused):
        raise Missed(Finding(False, None, NOT_TAKEN.format(bench.why)))
    if seen_on(bench.oven, scan) is False and late_s > LATE_LOOK_S:
        raise Missed(_too_busy(late_s))
    return scan


def _bad(scan: Scan) -> int:
    """Return how many exchanges have failed lately: a write that opens a port again sends off too."""
    return round(scan.link.bad_fraction * scan.link.answers)


def _dropped(oven: Oven, seen_on_s: float, held_s: float, most_s: float, limit_s: float) -> Finding:
    """Judge a drop between the last look that saw the output on and the first that saw it off.

    Raises Missed where nobody looked for so long that nobody knows how long it held.
    """
    if held_s - seen_on_s > BLIND_S or (seen_on_s < oven.tick_s < held_s - LATE_LOOK_S):
        raise Missed(_too_busy(held_s - seen_on_s))
    if seen_on_s < oven.tick_s:
        return _sooner_than_a_tick(oven)
    said = f"the output dropped by itself after {held_s:.1f} s without a write; readings go on"
    in_time = seen_on_s <= most_s
    return Finding(in_time, held_s, f"{said}; {limit_s:g} s were expected{'' if in_time else SLOWER}")


def _too_busy(blind_s: float) -> Finding:
    return Finding(False, None, f"no reading came for {blind_s:.1f} s: this machine is too busy; do it again")


def _never_on(bench: Ticks) -> Finding:
    """Say why no tick has seen the output on: a quicker look shows one that drops between two ticks."""
    said = bench.refused or bench.why
    why = f": {said}" if said else ""
    for _ in range(3):
        scan = bench.tick(heat=True, watched=False, every_s=LOOK_S)
    if seen_on(bench.oven, scan) and not bench.refused:
        return _sooner_than_a_tick(bench.oven)
    if "refuses" in why and bench.oven.output.heater.kind == "duty":
        mode = (
            "an instrument takes a power only in its mode manual or remote: let the dead-man write that mode"
        )
        why = f"{why}; {mode}"
    elif not why and _writes_one_number(bench.oven):
        why = f". Where the board's list says of the watchdog: {CHANGES}"
    if "refuses" in why and not bench.oven.arm and "mode" not in why and OWN_LIMIT not in why:
        why += NO_PLACE if "illegal data address" in why else RE_ARMED
    return Finding(False, None, f"the output did not come on{why}")


def _sooner_than_a_tick(oven: Oven) -> Finding:
    """Say that it was not seen on for a whole tick."""
    tick_s = oven.tick_s
    said = f"the output came on and dropped by itself within {tick_s:g} s, sooner than it is fed"
    cure = f"set the board's time longer, up to {DEAD_MAN_S:.0f} s"
    if _writes_one_number(oven):
        cure = f"{cure}; where its list says of the watchdog: {CHANGES}"
    return Finding(False, None, f"{said}: {cure}")


def _writes_one_number(oven: Oven) -> bool:
    dead_man = oven.dead_man
    return (
        dead_man is not None
        and dead_man.then is None
        and dead_man.counts_to is None
        and not on_a_line_board(oven)
    )


def spoilt(scan: Scan) -> Finding:
    """Return that a reading failed, and who saw to that: the board has dropped nothing by itself.

    For a bad sensor off was sent. An output that is not heard may have lost its port, and what opens that
    again restarts many a board.
    """
    cut = "and off was sent for it"
    said = (
        f"({scan.process.quality}), {cut}"
        if not scan.process.good
        else "(the output did not answer, or was off)"
    )
    first = (
        "do the cold check first, then this"
        if scan.process.quality is Quality.OUT_OF_RANGE
        else "do it again"
    )
    return Finding(False, None, f"a reading failed meanwhile {said}: the dead-man is not proved; {first}")


def seen_on(oven: Oven, scan: Scan) -> bool | None:
    """Return whether the heat is on where the dead-man acts."""
    if oven.seen_by_timer:
        return None if None in (scan.heat_on, scan.timer_on) else bool(scan.heat_on and scan.timer_on)
    return live(scan) if oven.drops_at_the_element else scan.heat_on


def on_a_line_board(oven: Oven) -> bool:
    """True where the dead-man is one of the line protocol, fed by FED alone."""
    return oven.dead_man is not None and isinstance(oven.device[oven.dead_man.device], LineDevice)


def longest_s(oven: Oven) -> float:
    """Return how long an output may hold at most: 10 s, or less where the oven file says less."""
    return min(DEAD_MAN_S, holds_for_s(oven) or DEAD_MAN_S)


def _restarting(bench: Ticks, silent_s: float) -> Finding:
    """Prove a board that falls silent as it drops the heat, as one does whose watchdog restarts it.

    What it did before proves nothing, because off was sent for the reading that failed: once more with
    nothing sent at all, for as long as it holds and then was silent.
    """
    quiet_s = longest_s(bench.oven) + LATE_LOOK_S + silent_s + LATE_LOOK_S
    scan = _after_silence(bench, 4, quiet_s)
    if seen_on(bench.oven, scan) is not False:
        return spoilt(scan)
    said = f"the board falls silent as it drops the heat, as in a restart: off within {quiet_s:.1f} s"
    return Finding(quiet_s <= DEAD_MAN_S + LATE_LOOK_S, quiet_s, f"{said} in which nothing was sent", True)


def _after_silence(bench: Ticks, ticks: int, quiet_s: float) -> Scan:
    """Switch on, send nothing for so long, and look once; off then proves something only if it was on before.

    Raises Missed where it was not, where that look was not answered (off was sent for it), or came so late
    that the board may have held for longer than is said.
    """
    scan = _switched_on(bench, ticks)
    if not (scan.process.good and seen_on(bench.oven, scan)) or bench.refused:
        raise Missed(spoilt(scan))
    began_s = bench.clock.now_s()
    bench.silence(quiet_s)
    scan = bench.tick(heat=True, feed=False, watched=False, every_s=LOOK_S)
    late_s = scan.at_s - began_s - quiet_s - LOOK_S
    if late_s > LATE_LOOK_S:
        raise Missed(_too_busy(late_s))
    if seen_on(bench.oven, scan) is None:
        raise Missed(spoilt(scan))
    return scan


def _in_silence(bench: Ticks, limit_s: float) -> Finding:
    scan = _after_silence(bench, 2, limit_s + LATE_LOOK_S)
    if seen_on(bench.oven, scan) is False:
        said = f"the output dropped within {limit_s:.0f} s of silence, but any reading keeps it on"
        said = f"{said}: it guards against a lost link, not against a hung program"
        return Finding(True, limit_s, said, any_traffic=True)
    dark = NO_POWER if live(scan) is False and not bench.oven.drops_at_the_element else ""
    heater = bench.oven.output.heater
    point_only = heater.kind == "set-point" and heater.back is None and not bench.oven.drops_at_the_element
    cure = dark or _too_long(bench.oven) or (STAYS if point_only else _only_written(bench.oven)) + ARMED
    return Finding(False, None, f"still on after {limit_s:.0f} s of silence: NO dead-man, no live heat{cure}")


def _only_written(oven: Oven) -> str:
    """Return the cure for a register read back where it is written: it keeps that, whatever comes out."""
    heater = oven.output.heater
    shown = heater.back is not None or oven.drops_at_the_element or heater.bits_table or heater.field
    return "" if shown else ONLY_WRITTEN.format(oven.name)


def _too_long(oven: Oven) -> str:
    held_s = holds_for_s(oven) or 0.0
    return TOO_LONG.format(held_s, DEAD_MAN_S) if held_s > DEAD_MAN_S else ""
