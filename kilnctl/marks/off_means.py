"""What an `off` does next, and whose answer it believes: state in, act out.

Loads next to nothing, for `off` waits for it; so what it hands on are named tuples. The rest of the protocol
is in `protocol.py`, all of it on one page in PROTOCOL.md.
"""

from collections.abc import Mapping
from enum import StrEnum
from typing import Any, NamedTuple

READS = 3  # times in a row that a relay is read off, with no other writer alive, before off says "read back"

LONGEST_LOOK_S = 2.0  # a board that takes longer for one is not waited for


class Means(StrEnum):
    """What an `off` does next; `DONE` says what came of it."""

    STAMP = "leave the stamp"
    ASK_HOME = "ask the controller of this home"
    ASK_DEVICE = "ask whoever holds the device"
    SIGNAL = "tell the holder of this home's lock to stop"
    PORTS = "open the ports, alone"
    BESIDE = "send off beside the holder"
    DONE = "say what came of it"


class Off(NamedTuple):
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


def places_in(answer: object, oven: str) -> list[Any]:
    """Return the places that an answer gives for one of its ovens."""
    said = answer["ovens"][oven] if isinstance(answer, dict) else {}
    at = said.get("at")
    return [one for one in at if isinstance(one, list) and len(one) == 2] if isinstance(at, list) else []


def looks_in(answer: object) -> dict[str, float]:
    """Return how long a look at each oven takes, as a line before the answer says it."""
    looks = answer.get("looks_s") if isinstance(answer, dict) else None
    found = looks.items() if isinstance(looks, dict) else ()
    return {
        name: min(look_s, LONGEST_LOOK_S) for name, look_s in found if type(look_s) is float and look_s > 0
    }


def reads_in(answer: object) -> frozenset[str]:
    """Return the ovens that were read off at least once, as a line before the answer says it."""
    reads = answer.get("reads_off") if isinstance(answer, dict) else None
    found = reads.items() if isinstance(reads, dict) else ()
    return frozenset(name for name, count in found if type(count) is int and count > 0)


def isolator_in(answer: object, oven: str) -> str:
    """Return where one of the ovens of an answer is cut by hand."""
    said = answer["ovens"][oven] if isinstance(answer, dict) else {}
    words = said.get("isolator")
    return words[:200] if isinstance(words, str) and words.isprintable() else ""


class Peer(NamedTuple):
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
