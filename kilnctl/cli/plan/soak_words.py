"""What a job without a file will do, in one sentence: nobody has read a plan of it."""

import math

from kilnctl.config.oven import Oven
from kilnctl.forecast.band import predict
from kilnctl.model.maker_constants import first_guess
from kilnctl.model.oven_model import OvenModel
from kilnctl.profile.segments import Cool, Profile, Ramp, Soak
from kilnctl.treatment.segment_forecast import Span, forecast
from kilnctl.units import say_duration, say_point, say_rate

OTHER_RATE = "For another rate write a profile of your own (`kilnctl guide profile-file`)"
SOONER = (
    "Its record is whole when it has cooled so far; `kilnctl adjust next` meanwhile ends it there and then, "
    "the oven still hot"
)


def soak_words(profile: Profile, oven: Oven, model: OvenModel | None) -> str:
    """Return how a soak of the command line heats from cold, how long, and when there is a record."""
    known = model or first_guess(oven)
    spans = forecast(profile, known, None, oven.ambient_c)
    said = [_words(segment, span) for segment, span in zip(profile.segments, spans, strict=False)]
    ends = len(spans) == len(profile.segments) and math.isfinite(spans[-1].duration_s)
    whole_s = sum(_minutes(span.duration_s) for span in spans) if ends else math.inf
    said.append(_in_all(profile, oven, known, whole_s) if ends else "no end is predicted")
    return f"{'; '.join(said)}. {OTHER_RATE}. {SOONER}"


def _in_all(profile: Profile, oven: Oven, known: OvenModel, whole_s: float) -> str:
    """Return how long the whole takes; of an oven that is not learned between what and what."""
    if known.learned:
        return f"in all about {say_duration(whole_s)}"
    end = predict(profile, known, oven.ambient_c, oven.ambient_c).ends[-1]
    late = "nobody knows how long" if end.late_s is None else say_duration(_minutes(end.late_s))
    early = say_duration(_minutes(min(end.early_s, whole_s)))
    about = f"in all about {say_duration(whole_s)} if the oven is as its file says"
    return f"{about}, else {early} to {late}: not learned, so heated in pulses"


def _words(segment: object, span: Span) -> str:
    lasts = f"about {say_duration(_minutes(span.duration_s))}" if math.isfinite(span.duration_s) else "?"
    match segment:
        case Ramp():
            rate = (
                "as fast as it can"
                if segment.rate_c_per_h is None
                else f"at {say_rate(segment.rate_c_per_h)}"
            )
            return f"heats to {say_point(segment.to_c)} {rate}, {lasts}"
        case Soak():
            return f"holds it for {say_duration(segment.soak_s)}"
        case Cool():
            return f"cools with the heat off to {say_point(segment.to_c)}, {lasts}"
    return ""


def _minutes(seconds: float) -> float:
    """Return whole minutes, in s: a forecast knows no seconds."""
    return 60.0 * round(seconds / 60.0)
