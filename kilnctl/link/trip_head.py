"""What a trip says first, on every screen, in `status` and in messages: is the heat really off?

What to do comes first, then the cause with its subject, then the caution.
"""

from dataclasses import dataclass
from typing import Literal

from kilnctl.link.snapshot import Snapshot

Level = Literal["off", "unproven", "on"]
WATCHED = "NOTHING WAS HEATED HERE."
RANK: dict[Level, int] = {"off": 0, "unproven": 1, "on": 2}


@dataclass(frozen=True, slots=True)
class Head:
    """The three parts, in the order in which they are read."""

    level: Level
    action: str
    cause: str
    caution: str

    @property
    def whole(self) -> str:
        """Return all of it in one paragraph."""
        return f"{self.action} {self.cause}. {self.caution}"


def trip_head(s: Snapshot, old: bool = False, since: bool = False) -> Head:
    """Return the head of a picture with a trip; `old` where nobody knows whether it still holds.

    `since`: another hand has read the heat back as off after it.
    """
    level, place = level_of(s, old, since), s.isolator or "the isolator"
    cause = "; then ".join(said.rstrip(".") for said in (s.trip, *s.trip_later))
    fire = f"Fire or smoke: leave, close the door, call {s.phone or 'your local emergency number'}."
    hotter = "" if level != "off" else f"{_hotter(s, since)} cut the power: {place}. "
    known = since or s.off_read_back is True
    said = WATCHED if level == "off" and not known else action(level, s.isolator)
    return Head(level, said, cause, hotter + fire)


def level_of(s: Snapshot, old: bool = False, since: bool = False) -> Level:
    """Return what is known of the heat: off only where it was read back as off just now, or never on here.

    What the scan of the same tick saw on was seen before off was sent, so a good read-back outweighs it, as
    one `since` the picture does. Heat that was seen after an off is believed before any relay.
    """
    if since and not s.still_on:
        return "off"
    seen_on = s.off_read_back is not True and (s.heat_on is True or s.heater_live is True)
    if s.still_on or seen_on:
        return "on"
    if s.only_watched:
        return "off"
    return "off" if s.off_read_back is True and not old else "unproven"


def off_by_now(s: Snapshot, at_its_end: bool) -> bool:
    """Return whether a heat that has ended is known to be off, by its newest picture if that looked."""
    return at_its_end if s.off_read_back is None else s.off_read_back and level_of(s) == "off"


def action(level: Level, isolator: str) -> str:
    """Return what is so and what to do, in one line."""
    place = isolator or "at the isolator"
    match level:
        case "off":
            return "HEAT IS OFF, read back."
        case "unproven":
            return f"OFF IS NOT CONFIRMED. CUT THE POWER NOW: {place}."
        case "on":
            return f"THE HEAT IS STILL ON. CUT THE POWER NOW: {place}."


def _hotter(s: Snapshot, blind: bool) -> str:
    """Say when to cut the power although the heat is off: by the temperature, where anybody can see it."""
    if s.quality in ("good", "") and not blind:
        return "If it still gets hotter,"
    return "There is no reading to show it cooling; if in doubt,"
