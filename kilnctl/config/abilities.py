"""What an oven file can and cannot do, in words, before anything is asked on the wire."""

from kilnctl.config.oven import Oven
from kilnctl.units import say_duration

WAYS = (
    'a board with a watchdog or communication time-out that drops its outputs: write it as "dead_man"',
    'an output that is on for a time and must be written again: output.heater with kind = "pulse", holds',
    'an instrument that cuts its output when the line is silent: kind = "set-point", link_loss = "drops"',
    'a timer relay behind the board, kept up by edges of a second output: "dead_man" with "then" '
    "(`kilnctl guide timer-relay`)",
    "a board with firmware of your own: `kilnctl guide line-board`",
)


def may_heat(oven: Oven) -> bool:
    """Return whether a heat on this oven can be started at all; the set-up comes on top of it."""
    return oven.simulated or oven.has_dead_man or oven.attended_only


def heating(oven: Oven) -> tuple[str, ...]:
    """Return what may be done with the oven; where it may not heat, the ways out of that."""
    if oven.has_dead_man:
        return (f"It can be watched and heated: {_drops(oven)}.",)
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


def _drops(oven: Oven) -> str:
    if oven.dead_man is not None:
        after = say_duration(oven.dead_man.drops_after_s)
        return f"the board drops the heat by itself {after} after the last word of the computer"
    if oven.output.heater.holds_s is not None:
        held = f"{oven.output.heater.holds_s:g} s"
        if oven.output.heater.kind == "duty":
            return f"a power that is not written again ends by itself after {held}"
        return f"each pulse ends by itself after {held}"
    return "the instrument cuts its output by itself when the line is silent"
