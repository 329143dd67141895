"""What a latch, a supervisor and a writer do next: state in, act out. What off does: `off_means.py`.

No disk, no process, no clock: the processes look, call these, and do what they are told. PROTOCOL.md says in
one page which marks there are and why they are looked at in this order.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from kilnctl.readings import ResetClass

# --- the latch ---


class LatchWord(StrEnum):
    """What a latch says. Only `free` allows heat; `armed` allows the run that armed it to be taken up."""

    FREE = "free"
    ARMED = "armed"
    TRIPPED = "tripped"
    TORN = "torn"
    MISSING = "missing"


@dataclass(frozen=True, slots=True)
class Slot:
    """One of the two slots of a latch file, as read: empty, damaged, or a whole entry with its number."""

    kind: str
    number: int = 0
    state: str = ""


EMPTY, DAMAGED = Slot("empty"), Slot("damaged")


def latch_word(slots: Sequence[Slot] | None, heated_before: bool) -> LatchWord:
    """Return what a latch says; `slots` is None where there is no file.

    The newest whole slot speaks. Beside a damaged one neither "free" nor "armed" is believed: what was
    written last may have been the trip, which must not become an interruption. A file that is missing
    although its oven has heated, or was taken away, is a latch.
    """
    if slots is None:
        return LatchWord.MISSING if heated_before else LatchWord.FREE
    whole = [slot for slot in slots if slot.kind == "whole"]
    torn = any(slot.kind == "damaged" for slot in slots)
    if not whole:
        return LatchWord.TORN if torn or heated_before else LatchWord.FREE
    said = LatchWord(newest(whole).state)
    return LatchWord.TORN if torn and said is not LatchWord.TRIPPED else said


def newest(slots: Sequence[Slot]) -> Slot:
    """Return the slot that was written last."""
    return max(slots, key=lambda slot: slot.number)


@dataclass(frozen=True, slots=True)
class TripFinding:
    """What a trip says: kind, reason, reset class, and whether the heat was read back as off by then.

    `escalations` are later findings in words, in their order.
    """

    kind: str
    reason: str
    reset: ResetClass
    heat_off: bool | None = None
    escalations: tuple[str, ...] = ()


def escalated(standing: TripFinding, later: TripFinding) -> TripFinding:
    """Return a standing trip with a later finding: the first cause stays, the worse class counts."""
    if later.reason == standing.reason or later.reason in standing.escalations:
        said = standing.escalations
    else:
        said = (*standing.escalations, later.reason)
    heat_off = standing.heat_off if later.heat_off is None else later.heat_off
    reset = max(standing.reset, later.reset)
    return TripFinding(standing.kind, standing.reason, reset, heat_off, said)


# --- marks and the supervisor ---


class Care(StrEnum):
    """What a supervisor does with a mark that it finds."""

    WATCH = "watch it: cut when the controller is silent or gone"
    CUT = "cut it now: nobody else will"
    LEAVE = "leave it: the process that it names lives, and another supervisor watches that"
    SAY = "say that an oven may be hot; no heat there until somebody has looked"


def with_mark(torn: bool, mine: bool, owner_lives: bool, remembered: bool) -> Care:
    """Return what a supervisor does with one mark.

    `torn`: it cannot be read whole. `mine`: it names the process that this supervisor watches. `owner_lives`:
    the process that it names runs, in this start of the machine. `remembered`: this supervisor has read it
    whole before: a mark that is torn or gone since then makes it forget nothing.
    """
    if remembered or (mine and not torn):
        return Care.WATCH
    if torn:
        return Care.SAY
    return Care.LEAVE if owner_lives else Care.CUT


# --- a writer, before heat and in every tick ---


UNLATCH = "find the cause, then `kilnctl reset --oven NAME`"
MAY_BE_HOT = "the oven may be hot: cut its power and look, then `kilnctl off`"


@dataclass(frozen=True, slots=True)
class WriterSees:
    """What a writer sees before heat. `off`: words of an off that came later than its start, None for none.

    `mark`: what a supervisor would do with the oven's mark, None where there is none. `takes_up`: this start
    takes up the interrupted run that armed the latch, or has armed it itself. `held_by`: who else holds the
    device, empty for nobody. `latch_stands`: what it has armed is still there, so that a trip can be written.
    """

    off: str | None
    latch: LatchWord
    mark: Care | None = None
    takes_up: bool = False
    held_by: str = ""
    latch_stands: bool = True
    supervised: bool = True


def why_go_off(off: str | None, supervised: bool) -> str:
    """Return in words why a writer must go off in this tick, empty where it need not."""
    if off is not None:
        return off
    return "" if supervised else "the supervisor is dead"


def why_no_heat(writer: WriterSees) -> str:
    """Return in words why a writer must not heat, empty where it may; the first reason in this order."""
    if why := why_go_off(writer.off, writer.supervised):
        return f"{why}, later than this start" if writer.off is not None else why
    if not (writer.latch is LatchWord.FREE or (writer.latch is LatchWord.ARMED and writer.takes_up)):
        return f"the latch says {writer.latch}: {UNLATCH}"
    if not writer.latch_stands:
        return f"the latch file was removed or replaced: {UNLATCH}"
    if writer.mark is Care.SAY:
        return f"the mark of an earlier heat cannot be read, {MAY_BE_HOT}"
    if writer.mark in (Care.CUT, Care.LEAVE):
        return f"an earlier heat was not read back as off, {MAY_BE_HOT}"
    return f"its device is held by {writer.held_by}" if writer.held_by else ""
