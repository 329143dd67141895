"""Alarms that a lone worker can live with: the states of ISA-18.2 / IEC 62682, as frozen data.

Acknowledging says "seen"; it clears neither the cause nor what was done about it. A latched alarm stays
until it is reset; an alarm that can be shelved comes back when its time is over, and a trip cannot be.
"""

from collections.abc import Mapping
from dataclasses import replace
from enum import StrEnum
from typing import Any

from kilnctl.readings import Alarm, Priority
from kilnctl.values import value

# An alarm must have gone for this long before it counts as gone: noise on a limit is one alarm, not fifty.
OFF_DELAY_S = 60.0
# Whoever shelves must look again within the hour.
LONGEST_SHELF_S = 3600.0


class AlarmState(StrEnum):
    """States of one alarm, in words."""

    NEW = "not acknowledged"
    SEEN = "acknowledged"
    GONE = "gone, not acknowledged"
    LATCHED_NEW = "latched, not acknowledged"
    LATCHED_SEEN = "latched, acknowledged"
    SHELVED = "shelved"


@value
class Shown:
    """One alarm as it stands. Times in seconds of the run; `seen_s` is when it last held true."""

    kind: str
    reason: str
    priority: Priority
    state: AlarmState
    since_s: float
    seen_s: float
    first_out: bool = False
    latched: bool = False
    shelved_until_s: float | None = None

    def words(self, at_s: float) -> str:
        """Return the reason, with the time for which it is still shelved."""
        if self.shelved_until_s is None:
            return self.reason
        return f"{self.reason} (shelved, back in {max(1.0, (self.shelved_until_s - at_s) / 60):.0f} min)"


@value
class AlarmList:
    """The alarms of one run: those that stand, and all that ever came (for the record)."""

    standing: tuple[Shown, ...] = ()
    history: tuple[Alarm, ...] = ()

    @property
    def active(self) -> bool:
        """True while any alarm stands."""
        return bool(self.standing)

    @property
    def heard(self) -> bool:
        """True when nobody needs to answer any alarm."""
        return not any(s.state in (AlarmState.NEW, AlarmState.LATCHED_NEW) for s in self.standing)

    def see(self, alarms: tuple[Alarm, ...], at_s: float) -> "AlarmList":
        """Return the list after one tick in which these alarms held true."""
        true_now = {alarm.kind: alarm for alarm in alarms}
        standing = []
        for shown in self.standing:
            kept = _kept(shown, true_now.pop(shown.kind, None), at_s)
            if kept is not None:
                standing.append(kept)
        fresh = tuple(true_now.values())
        for alarm in fresh:
            first = not any(s.state is not AlarmState.SHELVED for s in standing)
            new = AlarmState.NEW
            standing.append(Shown(alarm.kind, alarm.reason, alarm.priority, new, at_s, at_s, first))
        return AlarmList(tuple(standing), self.history + fresh)

    def as_before(self, before: "AlarmList") -> bool:
        """True where the same alarms stand in the same states as in an earlier list."""
        stand = [(s.kind, s.state) for s in self.standing]
        return stand == [(s.kind, s.state) for s in before.standing]

    def latch(self, kind: str, reason: str, at_s: float) -> "AlarmList":
        """Return the list with a trip, latched and urgent until `reset`; what comes after follows from it."""
        others = tuple(s for s in self.standing if s.kind != kind)
        first = not any(s.latched for s in others)
        folded = tuple(replace(s, first_out=s.first_out and not first) for s in others)
        trip = Shown(kind, reason, Priority.URGENT, AlarmState.LATCHED_NEW, at_s, at_s, first, latched=True)
        return AlarmList((trip, *folded), (*self.history, Alarm(kind, reason, at_s, Priority.URGENT)))

    def acknowledge(self, at_s: float) -> "AlarmList":
        """Return the list with every alarm seen. Those that had already gone leave it."""
        seen = (_acknowledged(s) for s in self.standing)
        return replace(self, standing=tuple(s for s in seen if s is not None))

    def reset(self, kind: str) -> "AlarmList":
        """Return the list without a latched alarm that a person has acknowledged; others stay."""
        freed = AlarmState.LATCHED_SEEN
        keep = tuple(s for s in self.standing if s.kind != kind or s.state is not freed)
        return replace(self, standing=keep)

    def why_not_shelve(self, kind: str, for_s: float) -> str:
        """Return why an alarm cannot be shelved, in words; empty where it can."""
        standing = [s for s in self.standing if s.kind == kind]
        if any(s.latched for s in standing):
            return "a trip cannot be shelved: find its cause, then reset it"
        if not standing:
            there = ", ".join(s.kind for s in self.standing if not s.latched) or "none"
            return f'no alarm "{kind}" stands; there is: {there}'
        if not 0.0 < for_s <= LONGEST_SHELF_S:
            return f"an alarm can be shelved for {LONGEST_SHELF_S / 60:.0f} min at most, then look again"
        return ""

    def shelve(self, kind: str, for_s: float, at_s: float) -> "AlarmList":
        """Return the list with one alarm silent for an hour at most. Raises ValueError where it cannot be."""
        why = self.why_not_shelve(kind, for_s)
        if why:
            raise ValueError(why)
        shelved = (
            replace(s, state=AlarmState.SHELVED, shelved_until_s=at_s + for_s) if s.kind == kind else s
            for s in self.standing
        )
        return replace(self, standing=tuple(shelved))

    def back_from_shelf(self, before: "AlarmList") -> tuple[Shown, ...]:
        """Return the alarms that were shelved in an earlier list and stand again."""
        was = {s.kind for s in before.standing if s.state is AlarmState.SHELVED}
        if not was:
            return ()
        return tuple(s for s in self.standing if s.kind in was and s.state is not AlarmState.SHELVED)

    def over(self, before: "AlarmList") -> tuple[Shown, ...]:
        """Return the alarms of an earlier list that have gone since, as they last held true."""
        stand = {s.kind for s in self.standing if s.state is not AlarmState.GONE}
        told = (AlarmState.NEW, AlarmState.SEEN)
        return tuple(s for s in before.standing if s.state in told and s.kind not in stand)

    def fresh(self, before: "AlarmList") -> tuple[Alarm, ...]:
        """Return the alarms that came since an earlier list."""
        return self.history[len(before.history) :]

    def shown(self) -> tuple[Shown, ...]:
        """Return what stands, the urgent first, the cause before its consequences."""
        return tuple(sorted(self.standing, key=lambda s: (_RANK[s.priority], not s.first_out, s.since_s)))

    def summary(self) -> list[dict[str, Any]]:
        """Return every alarm of the run as plain data."""
        return [
            {"kind": a.kind, "reason": a.reason, "at_s": a.at_s, "priority": str(a.priority)}
            for a in self.history
        ]


def shelf_s(args: Mapping[str, Any]) -> float:
    """Return for how long a command shelves, seconds; what is no number cannot be shelved for."""
    for_s = args.get("for_s")
    return float(for_s) if isinstance(for_s, int | float) and not isinstance(for_s, bool) else 0.0


_RANK = {Priority.URGENT: 0, Priority.SOON: 1, Priority.LATER: 2}


def _kept(shown: Shown, again: Alarm | None, at_s: float) -> Shown | None:
    """Return a standing alarm one tick later, None when it has left the list."""
    until_s = shown.shelved_until_s
    if until_s is not None and at_s >= until_s:
        shown = replace(shown, state=AlarmState.NEW, shelved_until_s=None)
    if again is not None:
        state = AlarmState.NEW if shown.state is AlarmState.GONE else shown.state
        # In the order of the fields: an alarm may stand for hours, and `replace` costs three times this.
        return Shown(
            shown.kind,
            again.reason,
            shown.priority,
            state,
            shown.since_s,
            at_s,
            shown.first_out,
            shown.latched,
            shown.shelved_until_s,
        )
    if shown.latched or shown.state in (AlarmState.GONE, AlarmState.SHELVED):
        return shown
    if at_s - shown.seen_s < OFF_DELAY_S:
        return shown
    return None if shown.state is AlarmState.SEEN else replace(shown, state=AlarmState.GONE)


def _acknowledged(shown: Shown) -> Shown | None:
    match shown.state:
        case AlarmState.GONE:
            return None
        case AlarmState.NEW:
            return replace(shown, state=AlarmState.SEEN)
        case AlarmState.LATCHED_NEW:
            return replace(shown, state=AlarmState.LATCHED_SEEN)
    return shown
