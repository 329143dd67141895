"""What a person changes in a running heat: never above the checked plan, always recorded."""

from itertools import takewhile
from typing import Any

from kilnctl.link.snapshot import Command
from kilnctl.profile.cursor import Cursor
from kilnctl.profile.segments import AnySegment, Operator, Profile, Ramp, Soak
from kilnctl.units import say_duration, say_point

LONGEST_S = 24 * 3600.0


def why_not(profile: Profile, cursor: Cursor, args: dict[str, Any]) -> str:
    """Return why an adjustment is refused, or nothing when it may be made."""
    if cursor.segment >= len(profile.segments):
        return "the heat is over"
    segment = profile.segments[cursor.segment]
    match args.get("what"):
        case "longer":
            return _why_not_longer(segment, args.get("by_s"))
        case "lower":
            return _why_not_lower(segment, args.get("to_c"))
        case "next":
            return ""
    return "a running heat takes: longer, lower, next"


def _why_not_longer(segment: AnySegment, by_s: object) -> str:
    if not isinstance(segment, Soak):
        return "only a soak can be made longer"
    if not isinstance(by_s, int | float) or not 0 < by_s <= LONGEST_S:
        return 'say by how much, like "30min"'
    return ""


def _why_not_lower(segment: AnySegment, to_c: object) -> str:
    if not isinstance(segment, Soak | Ramp):
        return "only a ramp or a soak has a goal to lower"
    goal = segment.at_c if isinstance(segment, Soak) else segment.to_c
    if not isinstance(to_c, int | float) or not 0 < to_c <= goal:
        return f"the goal may only go down from {goal:.0f} °C"
    return ""


def adjusted(profile: Profile, cursor: Cursor, args: dict[str, Any]) -> tuple[Profile, Cursor]:
    """Return profile and cursor after an adjustment that `why_not` has let through.

    A goal that is lowered stays lowered for what is held after it, up to the next ramp or cooling: a soak may
    not heat up again behind the back of who has lowered its ramp.
    """
    index = cursor.segment
    segment = profile.segments[index]
    if args["what"] == "next":
        last = index + 1 >= len(profile.segments)
        return profile, Cursor(index + 1, setpoint_c=cursor.setpoint_c, ending="complete" if last else "")
    changed = segment.model_copy(update=_change(segment, args))
    after = profile.segments[index + 1 :]
    if args["what"] == "lower":
        after = _held_no_higher(after, float(args["to_c"]))
    segments = (*profile.segments[:index], changed, *after)
    return profile.model_copy(update={"segments": segments}), cursor


def _held_no_higher(after: tuple[AnySegment, ...], to_c: float) -> tuple[AnySegment, ...]:
    held = list(takewhile(lambda s: isinstance(s, Soak | Operator), after))
    lowered = [s.model_copy(update=_no_higher(s, to_c)) for s in held]
    return (*lowered, *after[len(held) :])


def _no_higher(segment: AnySegment, to_c: float) -> dict[str, float]:
    match segment:
        case Soak() if segment.at_c > to_c:
            return {"at_c": to_c}
        case Operator() if segment.hold_c is not None and segment.hold_c > to_c:
            return {"hold_c": to_c}
    return {}


def _change(segment: AnySegment, args: dict[str, Any]) -> dict[str, float]:
    if args["what"] == "longer" and isinstance(segment, Soak):
        return {"soak_s": segment.soak_s + float(args["by_s"])}
    return {"at_c" if isinstance(segment, Soak) else "to_c": float(args["to_c"])}


def asked_in_words(command: Command) -> str:
    """Return in a few words what a person has asked, for everybody who watches."""
    args = command.args
    match command.word, args.get("what"):
        case "answer", _:
            return f"answer {args.get('reply', 'done')}"
        case "mark", _:
            return f"mark {args.get('mark', '')}".rstrip()
        case "adjust", "longer":
            return f"adjust: {say_duration(float(args['by_s']))} longer"
        case "adjust", "lower":
            return f"adjust: goal down to {say_point(float(args['to_c']))}"
        case "adjust", "next":
            return "adjust: on to the next segment"
    return command.word
