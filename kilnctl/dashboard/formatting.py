"""What the screen says and how: degrees, times, states, stages of an operator step. No widgets here."""

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from kilnctl.link.snapshot import SegmentView, Snapshot, Waiting
from kilnctl.link.trip_head import level_of, trip_head
from kilnctl.stages import EARLY_S, LIVE, SOON_S
from kilnctl.units import f_from_c, say_duration

SCREEN_ANSWERS = " Answer done."  # how a plan ends its words to a person; here a key is named instead
BOTH = re.compile(r"(-?\d+ °C) \((-?\d+ °F)\)")


@dataclass(frozen=True, slots=True)
class Degrees:
    """Temperatures as the person chose to see them; the record stays in degC."""

    unit: Literal["C", "F"] = "C"
    sign: str = "°"  # empty where the terminal has ASCII only

    @property
    def mark(self) -> str:
        """The unit as it is written."""
        return f"{self.sign}{self.unit}"

    def of(self, c: float) -> float:
        """Return a temperature point in the chosen unit."""
        return c if self.unit == "C" else f_from_c(c)

    def number(self, c: float | None, digits: int = 0) -> str:
        """Return a temperature point without its unit, dashes where there is none."""
        return "---" if c is None else f"{self.of(c):.{digits}f}"

    def point(self, c: float | None, digits: int = 0) -> str:
        """Return a temperature point with its unit."""
        return f"{self.number(c, digits)} {self.mark}"

    def rate(self, c_per_h: float) -> str:
        """Return a rate with its unit; a rate has no offset."""
        return f"{c_per_h * (1.0 if self.unit == 'C' else 1.8):.0f} {self.mark}/h"

    def difference(self, k: float, digits: int = 1) -> str:
        """Return a signed difference with its unit: 10 K is 18 °F, never 50."""
        return f"{k * (1.0 if self.unit == 'C' else 1.8):+.{digits}f} {self.mark}"


def in_one_unit(text: str, degrees: Degrees) -> str:
    """Return words of the controller, which say every point in both units, with the chosen one alone."""
    return BOTH.sub(r"\2" if degrees.unit == "F" else r"\1", text).replace("°", degrees.sign)


@dataclass(frozen=True, slots=True)
class Face:
    """How a state looks: a shape, the same in plain characters, one big word, and its style.

    The style is empty while all is well; "call" asks for a person and is no fault.
    """

    shape: str
    plain: str
    big: str
    style: str = ""


FACES = {
    "heating": Face("▲", "^", "HEATING"),
    "soaking": Face("■", "=", "SOAKING"),
    "cooling": Face("▼", "v", "COOLING"),
    "waiting to start": Face("◔", "o", "WAITING"),
    "held": Face("‖", "|", "HELD", "soon"),
    "waiting for you": Face("●", "?", "WAITING", "call"),
    "ready to quench": Face("◆", "*", "READY", "call"),
    "late to quench": Face("◆", "*", "LATE", "urgent"),
    "still waiting for you": Face("●", "?", "LATE", "urgent"),
    "no reading": Face("/", "/", "SENSOR", "urgent"),
    "tripped": Face("✖", "X", "TRIPPED", "urgent"),
    "off but hot": Face("△", "!", "OFF HOT", "later"),
    "cold": Face("□", "-", "COLD"),
    "silent": Face("○", "~", "SILENT"),
}
LATE = {"ready to quench": "late to quench", "waiting for you": "still waiting for you"}
UNKNOWN = Face("?", "?", "UNKNOWN", "soon")
NOT_OFF = Face("✖", "X", "NOT OFF", "urgent")
LATCHED = Face("✖", "X", "LATCHED", "later")
NO_DATA, NO_DATA_OFF = Face("?", "?", "NO DATA", "urgent"), Face("?", "?", "NO DATA", "soon")
PRIORITY_SHAPES = {"urgent": ("◆", "!!!"), "soon": ("▲", "!!"), "later": ("●", "!")}


def state_word(s: Snapshot) -> str:
    """Return the state's word, with the lateness of a step, which only time tells.

    Without a reading nobody may claim that it heats, soaks or cools.
    """
    if s.word in ("heating", "soaking", "cooling") and s.quality not in ("good", ""):
        return "no reading"
    if s.waiting is None or not s.waiting.late(s.elapsed_s):
        return s.word
    return LATE.get(s.word, s.word)


def limit_in_force_c(s: Snapshot) -> float:
    """Return at which temperature the heat trips: the plan's, until it is over or reset, or the machine's."""
    if s.state not in LIVE and not s.trip:
        return s.limit_c
    judged = (i.limit for i in s.interlocks if i.kind == "over_temperature" and i.active)
    return min(s.limit_c, next((limit for limit in judged if limit is not None), s.limit_c))


def face(s: Snapshot) -> Face:
    """Return how the state looks."""
    if s.trip and level_of(s) != "off":
        return NOT_OFF
    return FACES.get(state_word(s), UNKNOWN)


def old_face(s: Snapshot, cut: bool = False) -> Face:
    """Return how an old picture looks: grey is no word at three metres. Amber where the heat is off.

    `cut`: somebody else has read it back as off since.
    """
    return NO_DATA_OFF if cut or off_is_known(s) else NO_DATA


def off_is_known(s: Snapshot) -> bool:
    """Return whether the newest picture shows a heat that was over and read back as off, or none at all.

    After a trip a relay may be welded: there an old picture of off proves nothing.
    """
    return not s.trip and (s.only_watched or (s.state not in LIVE and s.heat_on is False))


def shape(face_: Face, plain: bool) -> str:
    """Return the state's shape, or its plain character on a bare console."""
    return face_.plain if plain else face_.shape


def left(seconds: float | None) -> str:
    """Return a time as the record and every command say it: "1 h 05 min", "12 min", "110 s"."""
    return "--" if seconds is None else say_duration(max(0.0, seconds))


def ago(seconds: float) -> str:
    """Return an age: in seconds while they can be counted."""
    return f"{seconds:.0f} s" if seconds < 100.0 else left(seconds)


def clock_time(utc: str) -> str:
    """Return the local clock time of a UTC label, "--:--" where there is none."""
    try:
        return datetime.fromisoformat(utc).astimezone().strftime("%H:%M")
    except ValueError:
        return "--:--"


def later_time(s: Snapshot, in_s: float | None) -> str:
    """Return the local clock time that a number of seconds of the heat from now is."""
    if in_s is None:
        return "--:--"
    try:
        now = datetime.fromisoformat(s.utc)
    except ValueError:
        return "--:--"
    return (now + timedelta(seconds=in_s / s.time_scale)).astimezone().strftime("%H:%M")


def earlier_time(s: Snapshot, at_s: float) -> str:
    """Return the local clock time of a time of the run that is past."""
    return later_time(s, at_s - s.elapsed_s)


def tripped_at(s: Snapshot) -> str:
    """Return the local clock time of the trip: of its alarm, which is the first cause."""
    found = [a.since_s for a in s.alarms if a.kind == s.trip_kind]
    return earlier_time(s, min(found)) if found else clock_time(s.utc)


def deadline_s(s: Snapshot) -> float | None:
    """Return the seconds left for the step that waits, None when none does."""
    return None if s.waiting is None else max(0.0, s.waiting.deadline_s - s.elapsed_s)


def present_label(s: Snapshot) -> str:
    """Return how the plan calls the present segment, empty where there is none."""
    return s.segments[s.segment].label if s.segment is not None and s.segment < len(s.segments) else ""


def next_segment(s: Snapshot) -> SegmentView | None:
    """Return the segment after the present one."""
    following = 0 if s.segment is None else s.segment + 1
    return s.segments[following] if s.segment is not None and following < len(s.segments) else None


def goes_nowhere(s: Snapshot) -> bool:
    """Return whether the oven heats, and what is foreseen of it does not reach the goal in days."""
    here = s.segments[s.segment] if s.segment is not None and s.segment < len(s.segments) else None
    heats = here is not None and here.kind == "ramp"
    return heats and s.state == "running" and bool(s.prediction) and s.segment_left_s is None


def quench_in_s(s: Snapshot) -> float | None:
    """Return the seconds until the quench, None unless it is the very next segment."""
    coming = next_segment(s)
    is_quench = coming is not None and (coming.step == "quench" or "quench" in coming.label.lower())
    return s.segment_left_s if is_quench and s.state == "running" else None


def stage(s: Snapshot) -> str:
    """Return where a quench stands: "", "T-10", "T-2", "READY" or "LATE"."""
    if s.waiting is not None and s.waiting.step == "quench":
        return "LATE" if s.waiting.late(s.elapsed_s) else "READY"
    in_s = quench_in_s(s)
    if in_s is None or in_s > EARLY_S:
        return ""
    return "T-2" if in_s <= SOON_S else "T-10"


def heat_words(w: Waiting) -> str:
    """Say what the element does while a step waits; nobody may think that off means safe to touch."""
    if w.heat_on_meanwhile:
        live = "" if w.element_isolated else " The element is LIVE: isolator before you open."
        return f"The heat is ON while you wait.{live}"
    if w.element_isolated:
        return "The heat is off; the door switch cuts the element."
    return "The heat is off, but the element is NOT isolated: isolator first."


def caution(isolator: str) -> str:
    """Return the line that every screen shows all the time."""
    place = isolator or "not named in the oven file"
    return f"HOT EQUIPMENT – software is not the safety limit. Isolator: {place}. Oil fire: lid, not water."


def trip_words(s: Snapshot, old: bool = False, since: bool = False) -> str:
    """Return all that a trip says, in one paragraph (see `trip_head`)."""
    return trip_head(s, old, since).whole
