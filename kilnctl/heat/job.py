"""What is to be done on an oven, and how it ended."""

from dataclasses import dataclass, field
from typing import Any

from kilnctl import stages
from kilnctl.profile.cursor import Cursor
from kilnctl.profile.segments import AnySegment, Operator, Profile, Soak
from kilnctl.treatment.steel.temper.dose import Dose
from kilnctl.units import say_duration


@dataclass(frozen=True, slots=True)
class Job:
    """A checked profile and how it is to be run.

    `start` is where the cursor begins and `dose` the temper so far, when a heat is taken up again;
    `planned_s` holds the predicted seconds of each segment, None where nobody can know.
    `resume_within_s` is the owner's word that a temper may go on by one key within that many real seconds
    after the power is back; `resumes` is the run that this one takes up, `taken_up` how, in words.
    The heat begins after `wait_s` of the run; until then everything is watched and the heat is off.
    """

    profile: Profile
    unattended: bool = False
    record_only: bool = False
    start: Cursor = field(default_factory=Cursor)
    dose: Dose | None = None
    warnings: tuple[str, ...] = ()
    not_checked: tuple[str, ...] = ()
    planned_s: tuple[float | None, ...] = ()
    resume_within_s: float | None = None
    resumes: int | None = None
    taken_up: str = ""
    wait_s: float = 0.0

    def planned(self, index: int) -> float | None:
        """Return how many seconds a segment was planned to take, None where the plan did not say."""
        return self.planned_s[index] if index < len(self.planned_s) else None


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a run ended. `heat_off` is True when off was read back at the end."""

    outcome: str
    cause: str
    heat_off: bool
    exit_code: int
    summary: dict[str, Any]


def verdict(state: stages.RunState, cursor: Cursor) -> tuple[str, int]:
    """Return the outcome word and the exit code of a run that has ended in this state."""
    outcome = stages.outcome_of(state, cursor.ending in ("not answered", "not reached"))
    return outcome, stages.EXIT_CODES[outcome]


def ending_words(ending: str, segment: AnySegment) -> str:
    """Say why a profile ended before its last segment."""
    if ending == "not answered" and isinstance(segment, Operator):
        return f'nobody confirmed "{segment.label or segment.step}" in time; the heat is off'
    if ending == "not reached" and isinstance(segment, Soak):
        longest = say_duration(segment.longest_s)
        return f"the soak was not completed within {longest}: too little time in its band"
    if ending == "not reached":
        return "the oven did not cool to the goal in the time that the profile allows"
    return "ended by a person at an operator step"
