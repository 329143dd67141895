"""What a tick needs to know of the segment that runs: looked up once a segment, not once a tick."""

from dataclasses import dataclass

from kilnctl.model.part import inside
from kilnctl.profile.cursor import Cursor, SoakNumbers, numbers_of
from kilnctl.profile.segments import TEMPERS, AnySegment, Cool, Operator, Profile, Ramp, Soak, sensor_goal_c


@dataclass(frozen=True, slots=True)
class CurrentSegment:
    """The segment that runs and the one after it; None and empty after the last.

    `goal_c` and `rate_c_per_h` as the control knows them; `soak` are its numbers where it is a soak;
    `part_inside` says whether the part is in the oven, `tempers` whether it is tempered there; `may_call`
    whether it may call a person: a step for hands, or the soak before one.
    """

    segment: AnySegment | None = None
    following: AnySegment | None = None
    kind: str = ""
    goal_c: float | None = None
    rate_c_per_h: float | None = None
    soak: SoakNumbers | None = None
    part_inside: bool = False
    tempers: bool = False
    may_call: bool = False

    def soaked_s(self, cursor: Cursor) -> float:
        """Return what a soak has been credited by its own clock, 0 in any other segment."""
        return 0.0 if self.soak is None else self.soak.credited_s(cursor)


def segment_at(profile: Profile, index: int) -> CurrentSegment:
    """Return what there is to know of a segment of a profile; nothing after the last."""
    segments = profile.segments
    if index >= len(segments):
        return CurrentSegment()
    segment, within = segments[index], inside(profile, index)
    following = segments[index + 1] if index + 1 < len(segments) else None
    return CurrentSegment(
        segment=segment,
        following=following,
        kind=segment.kind,
        goal_c=sensor_goal_c(segment),
        rate_c_per_h=segment.rate_c_per_h if isinstance(segment, Ramp | Cool) else None,
        soak=numbers_of(segment) if isinstance(segment, Soak) else None,
        part_inside=within,
        tempers=within and segment.purpose in TEMPERS,
        may_call=isinstance(following if segment.kind == "soak" else segment, Operator),
    )
