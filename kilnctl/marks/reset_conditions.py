"""What a latch asks for before it is taken away, which is more where trips repeat themselves."""

import json
from collections.abc import Iterable
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote

from kilnctl.config import home
from kilnctl.errors import RecordError, RunRefused
from kilnctl.marks import durable_write, latch, mark_file
from kilnctl.marks.latch import Latched
from kilnctl.marks.oven_identity import identity_of
from kilnctl.readings import ResetClass

if TYPE_CHECKING:
    from kilnctl.config.oven import Oven

# Good readings in a row before a reset.
GOOD_S = 30.0
REPEATED_WITHIN = timedelta(hours=24)
REPEATED = 3
# Kinds whose third trip in a day needs a repair; the third of any other kind needs its commissioning step.
REPAIR_KINDS = ("heat_without_demand", "rising_while_off", "energy_balance", "over_temperature", "smoke")
SHORTEST_NOTE = 5
AFTER_REPAIR = ("bus check", "dead-man test", "heater pulse", "limit test", "drop test")


def reset(oven: str, note: str, now: datetime) -> Latched:
    """Release a latch, at the machine, with a typed note; what it asks for must hold (see `why_not_reset`).

    The trip is kept in the oven's list of trips, for the count of repeated ones. Raises RunRefused for an
    oven that is not latched or an empty note, RecordError when the list cannot be written.
    """
    said = latch.read(oven)
    if said is None:
        raise RunRefused(f'oven "{oven}" is not latched')
    check_note(note)
    if said.state == "tripped":
        _remember(said, note)
    latch.set_free(said, now)
    return said


def needed(latched: Latched, now: datetime) -> ResetClass:
    """Return the reset class, raised where this is the third trip of its kind in 24 hours."""
    own = ResetClass(latched.reset)
    if latched.state != "tripped" or _earlier(latched, now) + 1 < REPEATED:
        return own
    raised = ResetClass.C if latched.kind in REPAIR_KINDS else ResetClass.B
    return max(own, raised)


def why_not_reset(
    latched: Latched, now: datetime, good_s: float, passed_since: Iterable[str], repaired: bool
) -> list[str]:
    """Return what still stands in the way of a reset, in words; empty when nothing does.

    `good_s` is how long the readings have been good, `passed_since` the commissioning steps that passed
    after the trip, `repaired` a person's word that the cause was repaired and the limit reset by hand.
    """
    reset, done = needed(latched, now), set(passed_since)
    missing = []
    if good_s < GOOD_S:
        missing.append(f"good readings for {GOOD_S:.0f} s (so far {good_s:.0f} s)")
    step = latched.repeat_step or "heater pulse"
    if reset is ResetClass.B and step not in done:
        missing.append(f'the set-up step "{step}" passed again since the trip')
    if reset is ResetClass.C:
        if not repaired:
            missing.append("the repair, and the hand reset of the independent limit")
        again = [name for name in AFTER_REPAIR if name not in done]
        if again:
            missing.append(f"passed again since the repair: {', '.join(again)}")
    return missing


def why_another(latched: Latched, oven: "Oven", repaired: bool = False) -> str:
    """Return in words why an oven file is not that of the oven that latched, empty where it is.

    An adapter may have come back under another name. A board that was replaced, too, is the same oven's where
    a person says that it was `repaired`, unless the old one's port is there and is not this file's.
    """
    known, found = latched.identity, identity_of(oven)
    replaced = repaired and not known.stands_beside(found)
    same = known.same_device(found) or known.within(found) or replaced
    if not known.at or (known.simulated == found.simulated and same):
        return ""
    return (
        f'the oven "{latched.oven}" that latched is {known.line()}; this file is {found.line()}: another '
        "oven cannot clear its latch. Give the file of the oven as it was, or say --repaired where the old "
        "board or port is gone for good"
    )


def check_note(note: str) -> None:
    """Raise RunRefused for a note that says nothing."""
    if len(note.strip()) < SHORTEST_NOTE:
        raise RunRefused("say in a few words what the cause was and what was done about it")


def _earlier(latched: Latched, now: datetime) -> int:
    """Return how many trips of this kind the last 24 hours saw; an unreadable list counts as enough."""
    try:
        lines = mark_file.text(_trips(latched.oven)).splitlines()
        past = [json.loads(line) for line in lines]
        times = [datetime.fromisoformat(p["utc"]) for p in past if p["kind"] == latched.kind]
        return sum(now - REPEATED_WITHIN <= at for at in times)
    except FileNotFoundError:
        return 0
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return REPEATED


def _remember(latched: Latched, note: str) -> None:
    path = _trips(latched.oven)
    try:
        durable_write.append(path, json.dumps({"kind": latched.kind, "utc": latched.utc, "note": note}))
    except OSError as e:
        raise RecordError(f"{path}: cannot be written: {e.strerror}; the latch stays") from None


def _trips(oven: str) -> Path:
    return home.latch_dir() / f"{quote(oven, safe=' ')}.trips"
