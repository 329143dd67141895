"""The cautions of a steel card, said at the step where they bind: in plan, screen and record."""

from kilnctl.profile.segments import AnySegment, Operator, Soak
from kilnctl.treatment.segments.segment_builders import Segments
from kilnctl.treatment.steel.steels import Caution, Steel

_ANSWER = " Answer done."
_STEPS = ("load", "quench", "check", "cold")


def with_cautions(segments: Segments, steel: Steel | None) -> Segments:
    """Return the segments of one treatment with the card's cautions in the words of the steps they bind."""
    for caution in steel.caution if steel is not None else ():
        where = _place(segments, caution)
        if where is not None:
            segments = (*segments[:where], _said(segments[where], caution), *segments[where + 1 :])
    return segments


def caution_warnings(segments: Segments, steel: Steel | None) -> tuple[str, ...]:
    """Return the cautions that no person is shown at a step of its own: they are read before the heat."""
    found = []
    for caution in steel.caution if steel is not None else ():
        where = _place(segments, caution)
        if steel is not None and where is not None and not isinstance(segments[where], Operator):
            found.append(f"{caution.say.rstrip('.')} (card of {steel.grade}: {steel.cite(caution)})")
    return tuple(found)


def _place(segments: Segments, caution: Caution) -> int | None:
    """Return the segment where a caution binds: a person's step, else the heat it is about, or None.

    What binds at loading is said at the first heat where the part lies in the cold furnace already.
    """
    for n, segment in enumerate(segments):
        if isinstance(segment, Operator) and segment.step == caution.at and segment.purpose != "normalise":
            return n
    if caution.at == "load" and any(s.purpose == "harden" for s in segments):
        return 0
    if caution.at in _STEPS:
        return None
    return next((n for n, s in enumerate(segments) if isinstance(s, Soak) and s.purpose == caution.at), None)


def _said(segment: AnySegment, caution: Caution) -> AnySegment:
    if isinstance(segment, Operator):
        say = f"{segment.say.removesuffix(_ANSWER)} {caution.say}"
        return segment.model_copy(update={"say": say + _ANSWER * segment.say.endswith(_ANSWER)})
    reason = "; ".join(text for text in (segment.reason, caution.say.rstrip(".")) if text)
    return segment.model_copy(update={"reason": reason})
