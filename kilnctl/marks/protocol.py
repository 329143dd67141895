"""What off, a writer, a supervisor and a latch do next: state in, act out.

No disk, no process, no clock: the processes look, call these, and do what they are told. PROTOCOL.md says in
one page which marks there are and why they are looked at in this order.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from kilnctl.readings import ResetClass

READS = 3  # times in a row that a relay is read off, with no other writer alive, before off says "read back"


# --- off: by which means next ---


class Means(StrEnum):
    """What an `off` does next; `DONE` says what came of it."""

    STAMP = "leave the stamp"
    ASK_HOME = "ask the controller of this home"
    ASK_DEVICE = "ask whoever holds the device"
    SIGNAL = "tell the holder of this home's lock to stop"
    PORTS = "open the ports, alone"
    BESIDE = "send off beside the holder"
    DONE = "say what came of it"


@dataclass(frozen=True, slots=True)
class Off:
    """How far an `off` has come.

    `charge`: the ovens that it must cut (those marked, known and plugged in, or named by a believed answer;
    or the one that was asked for). `read`: those read off three times with no other writer alive. `held`:
    those that a believed answer named as its own. `answered`: the controller of this home has answered and
    was believed. `lock_held`: a process holds the supervisor's lock of this home, `drill_held` the lock of a
    drill. `named`: one oven is meant. `home_stamped`, `devices_stamped`: the stamp was left in this home, and
    by every device that is known.
    """

    charge: frozenset[str] = frozenset()
    named: bool = False
    used: tuple[Means, ...] = ()
    read: frozenset[str] = frozenset()
    held: frozenset[str] = frozenset()
    answered: bool = False
    lock_held: bool = False
    drill_held: bool = False
    home_stamped: bool = True
    devices_stamped: bool = True

    @property
    def left(self) -> frozenset[str]:
        """Return the ovens that are not read off yet."""
        return self.charge - self.read

    @property
    def good(self) -> bool:
        """True when everything in charge was read off, and nobody in this home heats unheard: exit 0."""
        return bool(self.charge) and not self.left and (self.named or self.answered or not self.lock_held)


def exit_code(off: Off) -> int:
    """Return what an off ends with: 0 read back, 1 not read back, or older starts may not have seen it.

    A stamp in one home is seen by the starts of that home only. So the device's must be left; and the home's
    where no device is known.
    """
    seen_by_all = off.devices_stamped and (off.home_stamped or bool(off.charge))
    return 0 if off.good and seen_by_all else 1


def next_means(off: Off) -> Means:
    """Return what an off does next; it ends, because each means is used once (the ports: twice)."""
    for means in (Means.STAMP, Means.ASK_HOME):
        if means not in off.used:
            return means
    if off.left and Means.ASK_DEVICE not in off.used:
        return Means.ASK_DEVICE
    # One oven is meant: its port is tried before a signal would end the heats of others too.
    if off.left and off.named and Means.PORTS not in off.used and not off.left & off.held:
        return Means.PORTS
    if Means.SIGNAL not in off.used and _must_end(off):
        return Means.SIGNAL
    if off.left and not _since_signal(off, Means.PORTS):
        return Means.PORTS
    if off.left and Means.BESIDE not in off.used:
        return Means.BESIDE
    return Means.DONE


def _must_end(off: Off) -> bool:
    """Return whether the holder of a lock must go: it did not answer, or could not read its ovens off."""
    return (off.drill_held and bool(off.left)) or home_must_end(off)


def home_must_end(off: Off) -> bool:
    """Return whether the holder of the home's lock must go, and with it every heat of this home.

    Not for one oven by name where the controller has answered: it goes on to cut that oven, and the heats of
    the others are not meant.
    """
    unread = bool(off.left) if off.named else not off.answered or bool(off.left & off.held)
    return off.lock_held and unread and not (off.named and off.answered)


def _since_signal(off: Off, means: Means) -> bool:
    used = off.used
    if Means.SIGNAL in used:
        used = used[used.index(Means.SIGNAL) :]
    return means in used


def told_off(answer: object) -> dict[str, bool] | None:
    """Return oven -> read off, as an answer on the off line says it; None for anything unexpected.

    Only READS good reads in a row count as off. One wrong value, and nothing of the answer is believed.
    """
    ovens = answer.get("ovens") if isinstance(answer, Mapping) else None
    if not isinstance(ovens, Mapping):
        return None
    found = {}
    for name, said in ovens.items():
        reads = said.get("reads_off") if isinstance(said, Mapping) else None
        if not isinstance(name, str) or type(reads) is not int:
            return None
        found[name] = reads >= READS
    return found


@dataclass(frozen=True, slots=True)
class Peer:
    """Who answered, as the kernel says: process, its parent, its user; and what it really holds."""

    pid: int
    parent: int
    user: int
    has_device: bool = False


def of_this_home(peer: Peer, lock_holder: int | None, user: int) -> bool:
    """Return whether an answer comes from the process that holds the supervisor's lock, or from its child."""
    return peer.user in (user, 0) and lock_holder is not None and lock_holder in (peer.pid, peer.parent)


def of_the_device(peer: Peer, user: int) -> bool:
    """Return whether an answer comes from a process that has the device itself open."""
    return peer.user in (user, 0) and peer.has_device


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


def why_no_heat(seen: WriterSees) -> str:
    """Return in words why a writer must not heat, empty where it may; the first reason in this order."""
    if why := why_go_off(seen.off, seen.supervised):
        return f"{why}, later than this start" if seen.off is not None else why
    if not (seen.latch is LatchWord.FREE or (seen.latch is LatchWord.ARMED and seen.takes_up)):
        return f"the latch says {seen.latch}"
    if not seen.latch_stands:
        return "the latch file was taken away or exchanged"
    if seen.mark is Care.SAY:
        return f"the mark of an earlier heat cannot be read, {MAY_BE_HOT}"
    if seen.mark in (Care.CUT, Care.LEAVE):
        return f"an earlier heat was not read back as off, {MAY_BE_HOT}"
    return f"its device is held by {seen.held_by}" if seen.held_by else ""
