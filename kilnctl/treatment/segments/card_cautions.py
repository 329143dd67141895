"""The cautions of a steel card, said at the step where they bind: in plan, screen and record."""

import math

from kilnctl.profile.segments import AnySegment, Operator, Soak
from kilnctl.treatment.segments.segment_builders import Segments
from kilnctl.treatment.steel.steels import Caution, Steel

_ANSWER = " Answer done."
_STEPS = ("load", "quench", "check", "cold")


def with_cautions(segments: Segments, steel: Steel | None, surface: str) -> Segments:
    """Return the segments of one treatment with the card's cautions in the words of the steps they bind."""
    for caution in steel.cautions_for(surface) if steel is not None else ():
        bound = _places(segments, caution)
        segments = tuple(_with_caution(s, caution) if n in bound else s for n, s in enumerate(segments))
    return segments


def caution_warnings(segments: Segments, steel: Steel | None, surface: str) -> tuple[str, ...]:
    """Return the cautions that no person is shown at a step of its own: they are read before the heat."""
    found = []
    for caution in steel.cautions_for(surface) if steel is not None else ():
        bound = _places(segments, caution)
        if steel is not None and bound and not isinstance(segments[bound[0]], Operator):
            found.append(f"{caution.say.rstrip('.')} (card of {steel.grade}: {steel.cite(caution)})")
    return tuple(found)


def _places(segments: Segments, caution: Caution) -> tuple[int, ...]:
    """Return the segments where a caution binds: a person's step, else the heat it is about, or none.

    At a quench it is said to each blade. What binds at loading is said at the first heat where the part lies
    in the cold furnace already.
    """
    asked = tuple(n for n, segment in enumerate(segments) if _asks(segment, caution.at))
    if asked:
        return asked if caution.at == "quench" else asked[:1]
    if caution.at == "load" and any(s.purpose == "harden" for s in segments):
        return (0,)
    if caution.at in _STEPS:
        return ()
    above_c = -math.inf if caution.above_c is None else caution.above_c
    about = [
        (s.clock != "part", n)  # an oven that settles empty has its own clock: the part's soak comes first
        for n, s in enumerate(segments)
        if isinstance(s, Soak) and s.purpose == caution.at and s.at_c > above_c
    ]
    return tuple(n for _, n in sorted(about)[:1])


def _asks(segment: AnySegment, step: str) -> bool:
    """True where a person is at the step; what binds at a loading is about the hardening heat."""
    if not isinstance(segment, Operator) or segment.step != step or segment.purpose == "normalise":
        return False
    return step != "load" or segment.purpose != "temper"


def _with_caution(segment: AnySegment, caution: Caution) -> AnySegment:
    if isinstance(segment, Operator):
        say = f"{segment.say.removesuffix(_ANSWER)} {caution.say}"
        return segment.model_copy(update={"say": say + _ANSWER * segment.say.endswith(_ANSWER)})
    reason = "; ".join(text for text in (segment.reason, caution.say.rstrip(".")) if text)
    return segment.model_copy(update={"reason": reason})
