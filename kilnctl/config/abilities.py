"""What an oven file can and cannot do, in words, before anything is asked on the wire."""

from kilnctl.config.oven import Oven

DEAD_MAN_S = 10.0  # the longest that a heat may go on by itself when the computer is lost
WAYS = (
    'a board with a watchdog or communication time-out that drops its outputs: write it as "dead_man"',
    'an output that is on for a time and must be written again: output.heater with kind = "pulse", holds; a '
    "power or set-point that must be written again within a time: its kind, with holds",
    'an instrument that cuts its output when the line is silent: kind = "set-point", link_loss = "drops"',
    'a timer relay behind the board, kept up by edges of a second output: "dead_man" with "then" '
    "(`kilnctl guide timer-relay`)",
    "a board with firmware of your own: `kilnctl guide line-board`",
)
TOO_LONG = "heat that goes on for {:g} s by itself is too long, {:g} s at most pass. The ways are:"
RENEWED = {"duty": "power", "set-point": "set-point"}
SHORTER = (
    "set the board's own time shorter, where its list has a place for that, and change the file's {} to it; "
    "where the board forgets it without power, that place is an arm, written before each heat",
    "where its time is fixed: a timer relay behind it, kept up by edges of a second output (`kilnctl guide "
    'timer-relay`); the file then has its output as "dead_man" with "then", and its time as drops_after',
)


OF_A_TIMER = (
    "turn the timer relay's knob to a shorter time, and change the file's {} to it",
    "where it has no shorter one: another timer relay (`kilnctl guide timer-relay`)",
)
STAND_BY = (
    "Has the instrument a mode (RUN, stand-by) that falls back by itself when the line is silent? The file "
    "does not show it: dead_man writes that register (write = RUN, zero_drops = true), output.heater.back "
    "reads it, and no arm does. Without them it may stand by unseen, or never be started"
)
NOT_STARTED = (
    "It can be watched and recorded; no heat comes by kilnctl alone: output.heater.back reads whether the "
    "instrument runs, and nothing of this file writes that."
)
CLOSES = (
    "The contactor closes up to {}: once in each switching.window ({:g} s), which kilnctl makes longer where "
    "the oven bears it. Where its maker allows fewer, write a longer one ({} makes {}), and min_off as long: "
    "then it is never more often."
)


def too_long(held_s: float | None) -> str:
    """Return why no heat begins where the heat holds by itself for so long, empty where that will do."""
    return TOO_LONG.format(held_s, DEAD_MAN_S) if held_s is not None and held_s > DEAD_MAN_S else ""


def shorter(key: str, timer: bool = False) -> tuple[str, ...]:
    """Return what can be done where the time that a key of the file tells is too long."""
    return tuple(way.format(key) for way in (OF_A_TIMER if timer else SHORTER))


def closes(oven: Oven) -> str:
    """Return how often a contactor closes, for its maker's limit; empty where kilnctl switches none."""
    window_s, heater = oven.switching.window_s, oven.output.heater
    if oven.switching.kind != "contactor" or heater.kind not in ("switch", "pulse"):
        return ""
    longer_s = 2.0 * window_s
    return CLOSES.format(_often(window_s), window_s, f'window = "{longer_s:g} s"', _often(longer_s))


def _often(window_s: float) -> str:
    in_a_minute = 60.0 / window_s
    return (
        f"{in_a_minute:.2g} times a minute" if in_a_minute >= 1.0 else f"{60 * in_a_minute:.0f} times an hour"
    )


def holds_for_s(oven: Oven) -> float | None:
    """Return how long the file says that the heat holds by itself, None where it does not say."""
    return oven.dead_man.drops_after_s if oven.dead_man else oven.output.heater.holds_s


def may_heat(oven: Oven) -> bool:
    """Return whether a heat on this oven can be started at all; the set-up comes on top of it."""
    dropped = oven.has_dead_man and not too_long(holds_for_s(oven))
    return oven.simulated or dropped or oven.attended_only


def heating(oven: Oven) -> tuple[str, ...]:
    """Return what may be done with the oven; where it may not heat, the ways out of that."""
    if oven.has_dead_man and (why := too_long(holds_for_s(oven))):
        key = "dead_man.drops_after" if oven.dead_man else "output.heater.holds"
        return (f"It can be watched and recorded, NOT heated: {why}", *shorter(key, oven.timer))
    if oven.has_dead_man:
        can = f"It can be watched and heated: {_drops(oven)}."
        return (NOT_STARTED if _nothing_starts_it(oven) else can, *_late_off(oven), *_unseen_stand_by(oven))
    if oven.attended_only:
        return (
            "It can be watched and heated, attended only: the instrument goes on heating when the computer "
            "is lost.",
        )
    if oven.simulated:
        return (
            "It can be rehearsed on a simulator. A real oven wired like this could only be watched:",
            *WAYS,
        )
    return ("It can be watched and recorded, not heated: no dead-man. The ways are:", *WAYS)


def _nothing_starts_it(oven: Oven) -> bool:
    """True where what shows that an instrument runs could be written, and nothing of the file writes it."""
    back = oven.output.heater.back
    if oven.output.heater.kind != "set-point" or back is None or back.table not in ("holding", "coil"):
        return False
    written = (*oven.arm, *((oven.dead_man,) if oven.dead_man else ()))
    amount = back.is_float or back.says("scale")
    return not amount and all((one.device, one.where) != (back.device, back.where) for one in written)


def _unseen_stand_by(oven: Oven) -> tuple[str, ...]:
    """Return what is asked of an instrument of which nothing shows that it went to stand-by."""
    heater = oven.output.heater
    unseen = (
        heater.back is None or heater.back.is_float or heater.back.says("scale") or _nothing_starts_it(oven)
    )
    return (STAND_BY,) if heater.kind == "set-point" and unseen and not oven.started_by_feeding else ()


def _late_off(oven: Oven) -> tuple[str, ...]:
    """Return where a timer must not hang: what holds the heat after an off is seen by nothing on the wire.

    What is armed is a watchdog of the board's own, and no timer.
    """
    held_s, pulse = holds_for_s(oven), oven.output.heater.kind == "pulse" and not oven.arm
    if not pulse and not oven.timer:
        return ()
    where = "No timer relay" if pulse else "The timer relay hangs behind an output of its own,"
    late = f"the heat goes on for up to {held_s:g} s after every off, while the board reads off"
    return (f"{where} {'' if pulse else 'never '}behind the heater's own output: there {late}.",)


def _drops(oven: Oven) -> str:
    if oven.dead_man is not None:
        after = f"{oven.dead_man.drops_after_s:g} s"
        if oven.timer:
            return f"the timer relay drops the heat {after} after the last edge from the computer"
        return f"the board drops the heat by itself {after} after the last word of the computer"
    if oven.output.heater.holds_s is not None:
        held = f"{oven.output.heater.holds_s:g} s"
        if oven.output.heater.kind in RENEWED:
            what = RENEWED[oven.output.heater.kind]
            said = f"the file says that a {what} which is not written again ends by itself after {held}"
            return f"{said}; the dead-man test proves it"
        said = f"the file says that the heat ends by itself {held} after its command was last written"
        return f"{said}; the dead-man test proves it"
    return "the instrument cuts its output by itself when the line is silent"


def watches_calls(oven: Oven) -> bool:
    """Return whether horn or lamp sit on a board with a watchdog: one that is fed, or armed before a heat."""
    dead_man, output = oven.dead_man, oven.output
    if oven.timer or oven.started_by_feeding:  # a mode: writing it starts the heat
        return False
    fed = () if dead_man is None else (dead_man.device,)
    watched = {*fed, *(arm.device for arm in oven.arm)}
    return any(one is not None and one.device in watched for one in (output.horn, output.lamp))
