"""What crosses from the controller to a screen, and back. Plain frozen data that goes through JSON."""

from dataclasses import dataclass, field
from typing import Any

from kilnctl.stages import LIVE, RunState, late_after_s

NO_PLAN = ("off but hot", "cold", "silent")  # words of an oven that follows no plan


@dataclass(frozen=True, slots=True)
class SegmentView:
    """One line of the plan. Times in seconds of the heat since the run began; None while unknown.

    `step` is the operator step's kind (load, quench, ...), empty for other segments.
    """

    index: int
    kind: str
    label: str
    purpose: str
    goal_c: float | None
    rate_c_per_h: float | None = None
    soak_s: float | None = None
    started_s: float | None = None
    ended_s: float | None = None
    predicted_end_s: float | None = None
    say: str = ""
    step: str = ""


@dataclass(frozen=True, slots=True)
class InterlockView:
    """One interlock and its distance to the limit; `near` goes from 0 (far) to 1 (trips)."""

    kind: str
    label: str
    value: float | None
    limit: float | None
    unit: str
    near: float
    active: bool = True
    note: str = ""


@dataclass(frozen=True, slots=True)
class AlarmView:
    """One alarm in its ISA-18.2 state."""

    kind: str
    reason: str
    priority: str
    state: str
    since_s: float
    first_out: bool = False

    @property
    def gone(self) -> bool:
        """Whether what it told of is over (words of interlocks.alarms)."""
        return self.state.startswith("gone")

    @property
    def subject(self) -> str:
        """What it tells of, without what would have come next."""
        return self.reason.partition("; ")[0]

    @property
    def reason_now(self) -> str:
        """The reason as it holds now."""
        return f"{self.subject}; over now" if self.gone else self.reason


@dataclass(frozen=True, slots=True)
class Waiting:
    """The one thing that a person must do now. After `deadline_s` (run time) the heat is cut."""

    step: str
    say: str
    since_s: float
    deadline_s: float
    heat_on_meanwhile: bool
    element_isolated: bool = False

    def late(self, elapsed_s: float) -> bool:
        """Return whether the person is late at this run time: for horn, telephone and screen alike."""
        return elapsed_s - self.since_s >= late_after_s(self.deadline_s - self.since_s)


@dataclass(frozen=True, slots=True)
class Snapshot:
    """The whole live state of one oven, once a tick. Temperatures in degC, times in seconds of the heat.

    `word` is the state in a person's word (heating, soaking, waiting for you, ready to quench, cooling, held,
    tripped, off but hot, cold, silent). `prediction` is the rest of the heat as foreseen from where it stands
    now, at most a minute or two old: (run time s, low, middle, high degC); the times left go by it too.
    `elapsed_s` counts from the start of the run, `utc` is the wall time of the tick; `published_boot_s` is
    stamped by the link (clock.boot_s), so that every screen knows how old its picture is.
    While a quench waits, `hand_times_s` holds what the hands are allowed as far as the plan knows it:
    "transfer" (longest), "bath", "clamp", "warm" (about, until hand-warm); `medium` is the plan's.
    `last_command` says what was asked last, and by whom; `cause` why a run is over before its end, `outcome`
    the record's word for how it ended, empty while it lasts.
    `part` is the part's name in the logbook, empty where nobody gave one.
    `skin_c` is a thin edge in sight of the elements, by estimate: as a rule, and at most.
    `creeps` says what a heat without a model does now, and how long its way may take; then no time is known.
    `left` is True in the last picture of all: the controller has given the oven's port back.
    `off_read_back` says how the newest off went, after `heat_on` and `heater_live` (a contact or a current at
    the element) were seen; None before the first. `trip_later` holds what was found while a trip stood,
    `still_on` whether that shows heat now.
    `only_watched` is True of a recording that has seen no heat: nothing here heats that oven.
    """

    oven: str
    simulated: bool
    sequence: int
    utc: str
    state: RunState
    word: str
    elapsed_s: float
    process_c: float | None
    setpoint_c: float | None
    part_c: float | None
    goal_c: float | None
    limit_c: float
    duty: float
    heat_on: bool | None
    run: int | None = None
    profile: str = ""
    steel: str = ""
    time_scale: float = 1.0
    unattended: bool = False
    second_c: float | None = None
    quality: str = "good"
    segment: int | None = None
    segments: tuple[SegmentView, ...] = ()
    segment_left_s: float | None = None
    total_left_s: float | None = None
    end_utc: str = ""
    soak_oven_s: float | None = None
    soak_part_s: float | None = None
    soak_goal_s: float | None = None
    next_words: str = ""
    waiting: Waiting | None = None
    temper_equivalent: dict[str, float] = field(default_factory=dict)
    predicted_hrc: tuple[float, float] | None = None
    interlocks: tuple[InterlockView, ...] = ()
    alarms: tuple[AlarmView, ...] = ()
    trip: str = ""
    trip_kind: str = ""
    energy_kwh: float = 0.0
    closures_per_h: float = 0.0
    prediction: tuple[tuple[float, float, float, float], ...] = ()
    isolator: str = ""
    phone: str = ""
    record_complete: bool = True
    note: str = ""
    not_checked: tuple[str, ...] = ()
    last_command: str = ""
    cause: str = ""
    outcome: str = ""
    published_boot_s: float = 0.0
    hand_times_s: dict[str, float] = field(default_factory=dict)
    medium: str = ""
    left: bool = False
    off_read_back: bool | None = None
    heater_live: bool | None = None
    still_on: bool = False
    trip_later: tuple[str, ...] = ()
    skin_c: tuple[float, float] | None = None
    part: str = ""
    creeps: str = ""
    only_watched: bool = False

    @property
    def waits_for(self) -> str:
        """What a plan waits for that cannot be timed. Empty while its times are known."""
        if self.state not in LIVE:
            return ""
        if self.quality not in ("good", ""):
            return "for a reading"
        return "until the door is shut" if self.word == "held" else self.creeps

    @property
    def door_said(self) -> str:
        """That the door is open in a recording, where no plan is held by it."""
        return "the door is open" if self.state == "held" and self.word in NO_PLAN else ""

    @property
    def waits(self) -> str:
        """What stands still, and for what; a recording has no plan. Empty while its times are known."""
        what = "recording" if self.segment is None else "the plan"
        return f"{what} waits {self.waits_for}" if self.waits_for else ""


@dataclass(frozen=True, slots=True)
class Command:
    """What a person asked.

    `word` is one of off, answer, mark, adjust, acknowledge, shelve, status, may (what would stand in the way
    of a run, and what would be asked), run (both with a StartJob as args), let go (of an oven that is only
    watched: its port is needed);
    `mark` stamps what hands did (args: mark, after_s) or found (args: mark, text) into the record, no more;
    `who` names the terminal it came from; `args` are plain JSON values.
    """

    word: str
    oven: str | None = None
    args: dict[str, Any] = field(default_factory=dict)
    who: str = ""


@dataclass(frozen=True, slots=True)
class Answer:
    """Accepted, or refused with the reason in one line."""

    accepted: bool
    why: str = ""
    data: dict[str, Any] = field(default_factory=dict)
