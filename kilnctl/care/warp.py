"""Warp: the bow of one part is chance, five alike are a cause."""

from collections import Counter
from collections.abc import Sequence

from kilnctl.logbook.entries import Warp

LOOK_BACK, ALIKE = 6, 5
STRAIGHT_MM = 0.2


def pattern(log: Sequence[Warp]) -> str:
    """Say whether the newest six bows have a cause in common; empty where they do not."""
    newest = [w for w in log if w.bow_mm > STRAIGHT_MM][-LOOK_BACK:]
    if not newest:
        return ""
    side, alike = Counter(w.side for w in newest).most_common(1)[0]
    if alike < ALIKE:
        return ""
    bows = [w.bow_mm for w in newest if w.side == side]
    return (
        f"{alike} of {len(newest)} bow {side}, {min(bows):.1f}–{max(bows):.1f} mm: systematic; "
        "check how the part enters the quench and whether both sides were ground alike"
    )
