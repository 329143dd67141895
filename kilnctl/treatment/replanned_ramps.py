"""A ramp that a known oven cannot follow is planned as it will be: at its rate, then at full power.

Only for an oven that was learned or measured by its maker: a guess from the plate must not change a recipe.
"""

from kilnctl.profile.segments import AnySegment, Profile, Ramp
from kilnctl.treatment.segment_forecast import Span
from kilnctl.treatment.segments.segment_builders import HOT_RATE_C_PER_H
from kilnctl.units import say_point, say_rate, written_in_c

_WORTH_K = 20.0
_NEARLY = 1.25  # a rate that is followed for most of the way


def replanned(profile: Profile, spans: tuple[Span, ...]) -> tuple[Profile, tuple[int, ...], tuple[str, ...]]:
    """Return the profile with its ramps as the oven can, the old place of each segment, and what to know."""
    segments: list[AnySegment] = []
    places, said = list[int](), list[str]()
    for n, segment in enumerate(profile.segments):
        span = spans[n] if n < len(spans) else None
        pieces: tuple[Ramp, ...] = ()
        if isinstance(segment, Ramp) and span is not None and span.behind_c is not None:
            pieces = _pieces(segment, span, span.behind_c)
            said.append(_words(segment, span, span.behind_c))
        segments += pieces or (segment,)
        places += [n] * max(1, len(pieces))
    return profile.model_copy(update={"segments": tuple(segments)}), tuple(places), tuple(said)


def _pieces(ramp: Ramp, span: Span, behind_c: float) -> tuple[Ramp, ...]:
    about = say_rate(_left_c_per_h(ramp, span, behind_c))
    why = f"full power: from about {say_point(behind_c)} this oven can do no more than about {about}"
    rest = ramp.model_copy(update={"rate_c_per_h": None, "reason": why, "label": f"{ramp.label} on".strip()})
    if span.behind_s <= 0.0 or ramp.to_c - behind_c < _WORTH_K:
        return (rest.model_copy(update={"label": ramp.label}),)
    return ramp.model_copy(update={"to_c": float(round(behind_c))}), rest


def _left_c_per_h(ramp: Ramp, span: Span, behind_c: float) -> float:
    return (ramp.to_c - behind_c) / max(1.0, span.duration_s - span.behind_s) * 3600.0


def _words(ramp: Ramp, span: Span, behind_c: float) -> str:
    asked_c_per_h = ramp.rate_c_per_h or HOT_RATE_C_PER_H
    about = say_rate(_left_c_per_h(ramp, span, behind_c))
    return (
        f"{ramp.label or 'ramp'}: {say_rate(asked_c_per_h)} is followed to about {say_point(behind_c)} only, "
        f"then full power makes about {about}{rate_slip(ramp, span)}"
    )


def rate_slip(ramp: Ramp, span: Span) -> str:
    """Return the question whether a rate that cannot be followed was meant in °F: only where that one can."""
    asked_c_per_h = ramp.rate_c_per_h or HOT_RATE_C_PER_H
    left_c_per_h = _left_c_per_h(ramp, span, span.behind_c) if span.behind_c is not None else 0.0
    fits = asked_c_per_h / 1.8 <= _NEARLY * left_c_per_h
    if asked_c_per_h == HOT_RATE_C_PER_H or not fits or not written_in_c(asked_c_per_h):
        return ""  # the planner's own, too fast in either, or written in °F
    return f"; did you mean {asked_c_per_h:.0f} °F/h ({asked_c_per_h / 1.8:.0f} °C/h)?"
