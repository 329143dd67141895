"""The lines of a plan: one for each segment, with its forecast, its reason and its source."""

import re
from dataclasses import dataclass

from kilnctl.profile.segments import AnySegment, Cool, Operator, Ramp, Soak, goal_c
from kilnctl.treatment.consequence import SteelState, hrc_of, said_of
from kilnctl.treatment.segment_forecast import Span
from kilnctl.treatment.steel.steels import Steel

# What may differ between two steps that ask the same of the hands: which part it is, and what is left to do.
NOT_THE_SAME = re.compile(r"\d+ of \d+(?:: [^:.]+(?=: ))?|The furnace stays hot\. ")


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a plan: temperatures degC, times in seconds from the start, `why` and `source` in words.

    `after` is what the step leaves of the part, `after_hrc` its hardness where a source says one.
    """

    index: int
    kind: str
    purpose: str
    label: str
    goal_c: float | None
    rate_c_per_h: float | None
    soak_s: float | None
    start_s: float
    duration_s: float
    why: str
    source: str
    warning: str = ""
    say: str = ""
    at_most_s: float | None = None
    after: str = ""
    after_hrc: tuple[float, float] | None = None


def row_of(
    n: int, segment: AnySegment, span: Span, warnings: list[str], part: SteelState, steel: Steel | None
) -> Row:
    """Return the line of segment n (from 0) with its forecast, its warnings and the part after it."""
    rate: float | None = None
    soak_s: float | None = None
    say, at_most_s = "", None
    match segment:
        case Ramp():
            rate = segment.rate_c_per_h
        case Cool():
            rate, at_most_s = segment.rate_c_per_h, segment.at_most_s
        case Soak():
            soak_s = segment.soak_s
        case Operator():
            say, at_most_s = segment.say, segment.at_most_s
    return Row(
        index=n,
        kind=segment.kind,
        purpose=segment.purpose,
        label=segment.label,
        goal_c=goal_c(segment),
        rate_c_per_h=rate,
        soak_s=soak_s,
        start_s=span.start_s,
        duration_s=span.duration_s,
        why=segment.reason,
        source=segment.source,
        warning="; ".join(warnings),
        say=say,
        at_most_s=at_most_s,
        after="" if steel is None else said_of(part, steel),
        after_hrc=None if steel is None else hrc_of(part, steel),
    )
