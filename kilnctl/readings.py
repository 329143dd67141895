"""What was seen, and what was judged of it: Reading, Scan, Observation, Trip, Alarm.

What is made anew in every tick is a `value`; what is found seldom is a frozen dataclass.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import final

from kilnctl.values import value

LIVE_A = 0.3  # from here on a current sensor at the element says that it is live


class Quality(StrEnum):
    """How far a reading can be trusted. Anything but GOOD means: no heat on it."""

    GOOD = "good"
    OPEN = "sensor open"
    OUT_OF_RANGE = "out of range"
    NOT_FINITE = "not finite"
    NO_REPLY = "no reply"
    BAD_REPLY = "bad reply"
    UNCONFIRMED = "jump not confirmed"


# For the tick: a member of such a class takes twenty times as long to read as a name (Python 3.11).
GOOD = Quality.GOOD
UNHEARD = (Quality.NO_REPLY, Quality.BAD_REPLY)  # an open sensor is heard all the same


@value
class Reading:
    """One value of one signal (degC, volt, ampere: the signal's own unit), or the reason why there is none.

    `raw` is the count as it came off the wire, for the frozen-sensor test.
    """

    value: float | None
    at_s: float
    quality: Quality = GOOD
    raw: float | None = None
    why: str = ""

    @property
    def good(self) -> bool:
        """True when the value may be acted on."""
        return self.quality is GOOD

    @staticmethod
    def of(value: float, at_s: float, raw: float | None = None) -> "Reading":
        """Return a good reading, or a bad one when the value is not finite: NaN stops at the edge."""
        if not math.isfinite(value):
            return Reading(None, at_s, Quality.NOT_FINITE, None, "not a finite number")
        return Reading(value, at_s, GOOD, raw)

    @staticmethod
    def bad(quality: Quality, why: str, at_s: float, raw: float | None = None) -> "Reading":
        """Return a reading without a value."""
        return Reading(None, at_s, quality, raw, why)


@dataclass(frozen=True, slots=True)
class LinkHealth:
    """How well the wire works. Times are unscaled seconds.

    `age_s` since the last whole good exchange of the process sensor and of the heater, the older one;
    `bad_fraction` of the last `answers` exchanges failed, with the devices of sensor, heater and dead-man
    only: those of 30 s, or 120 where they take longer; `foreign` frames seen that nobody asked for, the
    last one `foreign_said`;
    `restarts` of boards that say when they start; `greetings`: how often off was sent first, as at the start
    of a heat, because a port or a board was new. `fell`: an instrument went to stand-by with the heat on.
    """

    age_s: float = 0.0
    misses: int = 0
    bad_fraction: float = 0.0
    foreign: int = 0
    restarts: int = 0
    answers: int = 0
    greetings: int = 0
    fell: bool = False
    foreign_said: bytes = b""


@value
class Scan:
    """One look at one oven. Signals that the oven file does not have are None.

    `heat_on` is what was read back from the output (memory of the board, not the contact);
    `heater_live` comes from an auxiliary contact or current sensor: real heater power. `timer_on` is the
    contact of a timer relay behind the board.
    """

    at_s: float
    process: Reading
    heat_on: bool | None
    link: LinkHealth = LinkHealth()
    second: Reading | None = None
    load: Reading | None = None
    cold_junction: Reading | None = None
    ambient: Reading | None = None
    enclosure: Reading | None = None
    supply_v: Reading | None = None
    current_a: Reading | None = None
    contactor_on: bool | None = None
    heater_live: bool | None = None
    door_open: bool | None = None
    fan_on: bool | None = None
    smoke: bool | None = None
    limit_open: bool | None = None
    counter: int | None = None
    follower_goal_c: float | None = None
    timer_on: bool | None = None


@value
class Unlike:
    """How far the oven of this heat is from the one that was learned.

    Factors on sensor lag and heater power, taken two standard deviations towards 1; `lag_beyond` and
    `power_beyond` are their logarithms as parts of what is usual: above 1 the oven has changed.
    """

    lag: float
    power: float
    lag_beyond: float
    power_beyond: float


@value
class Neighbour:
    """What one oven tells the others of its controller.

    `rise_k` is what it has gained in the last 60 s; `heat` the heat commanded meanwhile (0..1), in which a
    coast counts as heated; `asked` the same without the coast; `unexplained` as in an Observation.
    `gains`: it rises faster than a minute ago though nobody asked for it; `loses` the contrary; `goes_on`: it
    was asked for much less and rises nearly as fast.
    `unproven`: it wants heat, and nothing has shown yet that its own output warms its own sensor; `turn`: it
    shows that now, so others in the same case wait; `turns` is how often it had to give way again; `rested`:
    it has not been heated yet.
    `over`: its heat has ended. `crossed`: it was cut because ovens are crossed.
    """

    rise_k: float
    heat: float
    asked: float = 0.0
    unexplained: float | None = None
    gains: bool = False
    loses: bool = False
    goes_on: bool = False
    over: bool = False
    crossed: bool = False
    unproven: bool = False
    turn: bool = False
    turns: int = 0
    rested: bool = False


@value
class Observation:
    """All that an interlock may know: one scan and what the controller was doing meanwhile.

    Temperatures in degC. `duty_asked` is the mean heat commanded since the last observation (0..1);
    `unexplained` the heat that the oven model cannot explain, as a fraction of full power (None while
    no model is fitted or it has not settled); `run_max_c` the highest temperature of the checked plan
    (None for a recording and a drill: there is none);
    `others` maps the names of the other ovens on this controller to what they tell; `told` is what this one
    tells them.
    `unlike` is None while nothing can be said of a learned oven; `drawn` is what the element draws by its
    measured current as a share of the file's power, None where no current is measured or flows.
    `dither` is +1/-1 while the duty is being nudged to test for a frozen sensor, else 0.
    """

    scan: Scan
    at_s: float
    dt_s: float
    real_dt_s: float
    late_s: float
    heating_allowed: bool
    heat_asked: bool
    duty_asked: float
    setpoint_c: float | None
    segment_kind: str
    run_max_c: float | None
    limit_c: float
    ambient_c: float
    others: Mapping[str, Neighbour]
    unexplained: float | None = None
    suspended_s: float = 0.0
    wall_step_s: float = 0.0
    supervisor_age_s: float = 0.0
    unattended: bool = False
    dither: int = 0
    unlike: Unlike | None = None
    drawn: float | None = None
    told: Neighbour = Neighbour(0.0, 0.0)


class Reaction(StrEnum):
    """T: heat off, contactor dropped, latched. X: heat off, run latched as interrupted. N: tell only."""

    TRIP = "trip"
    STOP = "stop"
    NOTIFY = "notify"


class ResetClass(StrEnum):
    """A: cause gone, 30 s good data, a typed note. B: A and repeat a commissioning step. C: repair first."""

    A = "A"
    B = "B"
    C = "C"


class Priority(StrEnum):
    """Alarm priorities: urgent needs an answer now, soon within minutes, later before the next heat."""

    URGENT = "urgent"
    SOON = "soon"
    LATER = "later"


@dataclass(frozen=True, slots=True)
class Trip:
    """Heat off and latched. `reason` is a sentence with numbers; `kind` the interlock's name."""

    kind: str
    reason: str
    at_s: float
    reaction: Reaction = Reaction.TRIP
    reset: ResetClass = ResetClass.A
    repeat_step: str = ""


@final
@value
class Alarm:
    """Something a person should answer; heat goes on."""

    kind: str
    reason: str
    at_s: float
    priority: Priority = Priority.SOON
