"""Horn and lamp: patterns that can be told apart across a shop, made of whole ticks.

A horn is never a protective layer: whoever does not hear it finds the heat off all the same.
"""

from typing import Literal

from kilnctl.profile.segments import AnySegment, Operator, Soak
from kilnctl.stages import EARLY_S, SOON_S, late_after_s
from kilnctl.values import value

Call = Literal["", "early", "soon", "ready", "late", "trip", "cut"]
# Ticks of sound in ticks of cycle.
PATTERNS: dict[Call, tuple[int, int]] = {
    "": (0, 1),
    "early": (1, 60),
    "soon": (2, 20),
    "ready": (2, 4),
    "late": (3, 4),
    "trip": (5, 6),
    "cut": (1, 1),
}


@value
class Attention:
    """What horn and lamp should do in this tick."""

    call: Call
    horn: bool
    lamp: bool


SILENCE = Attention("", False, False)


def call_for(
    tripped: bool,
    segment: AnySegment | None,
    following: AnySegment | None,
    left_s: float | None,
    waited_s: float,
    power: bool = False,
) -> Call:
    """Return what a person must be told: a trip, a step that waits, or one that comes soon.

    `left_s` is the time left in the running segment, `waited_s` how long an operator step has been waiting.
    `power` says that a trip is not enough: somebody must cut the power by hand.
    """
    if tripped:
        return "cut" if power else "trip"
    if isinstance(segment, Operator):
        return "late" if waited_s >= late_after_s(segment.at_most_s) else "ready"
    if isinstance(segment, Soak) and isinstance(following, Operator) and left_s is not None:
        if left_s <= SOON_S:
            return "soon"
        return "early" if left_s <= EARLY_S else ""
    return ""


def attention(call: Call, tick: int, acknowledged: bool) -> Attention:
    """Return horn and lamp for a tick; an acknowledged call keeps its lamp and loses its horn."""
    if not call:
        return SILENCE
    on, cycle = PATTERNS[call]
    sounding = tick % cycle < on
    return Attention(call, sounding and not acknowledged, sounding or call == "ready")
