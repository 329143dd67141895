"""A recording never heats: a board that is silent on an oven that is cold is switched off, and no alarm."""

from kilnctl.heat.heat_state import Heat, HeatState
from kilnctl.readings import Quality, Trip
from kilnctl.stages import HOT_C

# What a board that is switched off and on again looks like; any other kind is judged as in a heat.
WIRE = ("link_lost", "board_restarts")


def never_heated(heat: Heat, now: HeatState) -> bool:
    """Return whether nobody has heated this oven: a recording, never hot, no sign of an earlier heat."""
    peak_c = now.totals.peak_c
    return heat.job.record_only and not heat.found_hot and (peak_c is None or peak_c < HOT_C)


def excused(heat: Heat, now: HeatState, found: Trip) -> bool:
    """Return whether a trip only says that the board is not powered, on an oven that was never heated."""
    return found.kind in WIRE and never_heated(heat, now)


def unpowered(heat: Heat, now: HeatState) -> bool:
    """Return whether the board is silent now, on an oven that was never heated."""
    scan = now.scan
    if scan is None or now.trip is not None or not never_heated(heat, now):
        return False
    return scan.heat_on is None or scan.process.quality in (Quality.NO_REPLY, Quality.BAD_REPLY)


def silent_note(heat: Heat, now: HeatState) -> str:
    """Say which device is silent and what to look at; empty while the board is powered."""
    if not unpowered(heat, now) or now.scan is None:
        return ""
    oven = heat.station.oven
    why = now.scan.process.why or f"{oven.output.heater.device}: no reply"
    check = f'kilnctl commission {oven.name} --step "bus check"'
    return f"{why}: is it switched on? If it is, look at its address and wires: `{check}`"
