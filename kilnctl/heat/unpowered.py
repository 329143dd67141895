"""A recording never heats: a silent board on a cold oven is switched off, and strange talk is only told."""

from kilnctl.heat.heat_state import Heat, HeatState
from kilnctl.interlocks import with_subject
from kilnctl.readings import UNHEARD, Alarm, Priority, Quality, Trip
from kilnctl.stages import HOT_C

# What a board that is switched off and on again looks like; any other kind is judged as in a heat.
SILENT = ("link_lost", "board_restarts")
# Others talk on the line: what they say is not believed, and where nothing is heated that is enough.
TALK = ("foreign_talk",)

REFUSES = " refuses: "  # in what a device's refusal is told with, of any kind of device


def never_heated(heat: Heat, now: HeatState) -> bool:
    """Return whether nobody has heated this oven: a recording, never hot, no sign of an earlier heat."""
    peak_c = now.totals.peak_c
    return heat.job.record_only and not heat.found_hot and (peak_c is None or peak_c < HOT_C)


def excused(heat: Heat, now: HeatState, trip: Trip) -> bool:
    """Return whether a trip is only about the line of an oven that was never heated: nothing is to be cut."""
    return trip.kind in SILENT + TALK and never_heated(heat, now)


def told_instead(trip: Trip) -> list[Alarm]:
    """Return what is told in the place of an excused trip; of a silent board the picture tells."""
    if trip.kind in SILENT:
        return []
    return [with_subject(Alarm(trip.kind, trip.reason, trip.at_s, Priority.URGENT))]


def unpowered(heat: Heat, now: HeatState) -> bool:
    """Return whether the board is silent now, on an oven that was never heated."""
    scan = now.scan
    if scan is None or now.trip is not None or not never_heated(heat, now):
        return False
    return scan.heat_on is None or scan.process.quality in UNHEARD


def silent_note(heat: Heat, now: HeatState) -> str:
    """Say which device is silent and what to look at; empty while the board is powered."""
    if not unpowered(heat, now) or now.scan is None:
        return ""
    oven = heat.station.oven
    why = now.scan.process.why or f"{oven.output.heater.device}: no reply"
    if REFUSES in why:
        return why  # a device that has just answered has power and wires
    check = f'kilnctl commission {oven.name} --step "bus check"'
    on = "" if now.scan.process.quality is Quality.BAD_REPLY else "is it switched on? If it is, "
    return f"{why}: {on}look at its address and wires: `{check}`"
