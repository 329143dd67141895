"""Two Rockwell numbers in a question: which was wanted, which was measured, and so which way it went."""

import re
from typing import Literal

SOFTEST_HRC, HARDEST_HRC = 40.0, 69.0  # of a hardness that a maker of edge tools wants or measures
OTHER_UNIT = (
    r"(?! ?(°|degrees?\b|c\b|f\b|k\b|mm\b|cm\b|%|percent|min|h\b|hours?|s\b|sec|days?|kg|g\b|v\b|a\b))"
)
NUMBER = rf"(?<![\d.])([4-6]\d(?:\.\d)?)(?![\d.]*\d){OTHER_UNIT}"
BETWEEN = r"(?:\W|\b(?:a|an|about|around|at|be|for|get|hrc|is|it|of|rc|the|to|was|have|been)\b)*"
WANTED = (
    rf"\b(?:want(?:ed)?|expect(?:ed|ing)?|instead of|rather than|should(?: have)?|supposed|target"
    rf"|aim(?:ed|ing)?|asked|planned|needed|meant){BETWEEN}{NUMBER}"
)
WANTED_AFTER = rf"{NUMBER}(?: ?hrc| ?rc)? (?:was |is )?(?:wanted|expected|planned|asked|needed)"
ONLY = (
    rf"\b(?:only|just|barely|no more than)\b{BETWEEN}{NUMBER}"
    r"(?=\W*(?:$|hrc|rc|rockwell|why|after|instead|but|when|want))"
)
HARDNESS = r"\b(hrc|rc|rockwell|hardness|hard|soft\w*)\b"
OTHER_THING = (
    r"\b(oil|water|bath|plates?|soak\w*|degrees?|minutes?|hours?|warm|wide|thick|ramp\w*|output|volts?|amps?"
    r"|hertz|angle|grit|preheat\w*|springs?)\b"
)


def which_way(text: str) -> Literal["soft", "hard"] | None:
    """Return whether a part is told to be softer or harder than wanted, by its numbers; None without them."""
    if found := wanted_and_measured(text):
        wanted, measured = found
        return "soft" if measured < wanted else "hard"
    return "soft" if _may_be_hardness(text) and re.search(ONLY, text) else None


def wanted_and_measured(text: str) -> tuple[float, float] | None:
    """Return the hardness that was wanted and the one that was measured (HRC); None unless both are told."""
    text = re.sub(
        r"\b([4-6]\d) ?(?:-|to) ?([4-6]\d)\b", lambda at: f"{(int(at[1]) + int(at[2])) / 2:.1f}", text
    )
    wanted = re.search(WANTED, text) or re.search(WANTED_AFTER, text)
    if not (wanted and _may_be_hardness(text)):
        return None
    others = [float(n[1]) for n in re.finditer(NUMBER, text) if n.start() != wanted.start(1)]
    others = [n for n in others if SOFTEST_HRC <= n <= HARDEST_HRC and n != float(wanted[1])]
    return (float(wanted[1]), others[0]) if others else None


def _may_be_hardness(text: str) -> bool:
    return bool(re.search(HARDNESS, text)) or not re.search(OTHER_THING, text)
