"""A recording never heats: a silent board is told, and strange talk too, but nothing is to be cut."""

from kilnctl.heat.heat_state import Heat, HeatState
from kilnctl.interlocks import with_subject
from kilnctl.readings import UNHEARD, Alarm, Priority, Quality, Trip
from kilnctl.stages import HOT_C
from kilnctl.units import say_duration

# What a board that is switched off and on again looks like; any other kind is judged as in a heat.
SILENT = ("link_lost", "board_restarts")
# Others talk on the line: what they say is not believed, and where nothing is heated that is enough.
TALK = ("foreign_talk",)

REFUSES = " refuses: "  # in what a device's refusal is told with, of any kind of device
STILL_HOT = "; nothing is heated here, and no reading shows that the hot oven cools: look at it"


def only_watched(heat: Heat, now: HeatState) -> bool:
    """Return whether nothing here heats: a recording that has seen no heat, after none that was left on."""
    return heat.job.record_only and not heat.left_on and not now.seen_on


def never_heated(heat: Heat, now: HeatState) -> bool:
    """Return whether nobody has heated this oven: only watched, never hot, no sign of an earlier heat."""
    peak_c = now.totals.peak_c
    return only_watched(heat, now) and not heat.found_hot and (peak_c is None or peak_c < HOT_C)


def excused(heat: Heat, now: HeatState, trip: Trip) -> bool:
    """Return whether a trip is only about the line of an oven that nothing heats: nothing is to be cut."""
    return trip.kind in SILENT + TALK and only_watched(heat, now)


def told_instead(heat: Heat, now: HeatState, trip: Trip) -> list[Alarm]:
    """Return what is told instead of an excused trip; of a cold oven's silent board the picture tells."""
    if trip.kind not in SILENT:
        return [with_subject(Alarm(trip.kind, trip.reason, trip.at_s, Priority.URGENT))]
    if never_heated(heat, now):
        return []
    return [with_subject(Alarm(trip.kind, f"{trip.reason}{STILL_HOT}", trip.at_s, Priority.URGENT))]


def unpowered(heat: Heat, now: HeatState) -> bool:
    """Return whether the board is silent now, on an oven that nothing heats."""
    scan = now.scan
    if scan is None or now.trip is not None or not only_watched(heat, now):
        return False
    return scan.heat_on is None or scan.process.quality in UNHEARD


def silent_note(heat: Heat, now: HeatState) -> str:
    """Say which device is silent and what to look at; empty while all answer."""
    if not unpowered(heat, now) or now.scan is None:
        return ""
    oven, scan = heat.station.oven, now.scan
    why = scan.process.why or f"{oven.output.heater.device}: no reply"
    if REFUSES in why:
        return why  # a device that has just answered has power and wires
    check = f'kilnctl commission {oven.name} --step "bus check"'
    if now.totals.peak_c is not None:
        since = say_duration(scan.link.age_s)
        return f"no answer for {since}: {why}; before, it answered: its cable, or its power? `{check}`"
    if scan.heat_on is not None:
        on = f"{oven.output.heater.device} answers; "
    else:
        on = "" if scan.process.quality is Quality.BAD_REPLY else "is it switched on? If it is, "
    return f"{why}: {on}look at its address and wires: `{check}`"
