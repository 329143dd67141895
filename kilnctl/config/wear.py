"""What is written so often that a memory which the board keeps without power is worn out by it."""

from kilnctl.config.device_keys import LineDevice
from kilnctl.config.oven import Oven
from kilnctl.config.places import Place

KEPT = 'A register that a board keeps without power ("stored", "EEPROM", "100 000 writings")'
DAY = "is worn out by a writing every second in 28 hours of heat"
FEED_BY = (
    "If this is one, write stored = true there: then it is read every second, and written only where it "
    "reads otherwise. Where reading does not feed the watchdog, name what does: a spare coil, say"
)
TAKE_ANOTHER = 'Name the one that it does not keep ("remote", "working", "RAM")'


def worn(oven: Oven) -> tuple[str, ...]:
    """Return, in sentences, which places of a file must not be such a register."""
    heater, fed = oven.output.heater, oven.dead_man
    said = []
    if fed is not None and not fed.stored and _may_be_kept(oven, fed):
        said.append(f"dead_man is written every second. {KEPT} {DAY}. {FEED_BY}.")
    if heater.kind != "switch" and _may_be_kept(oven, heater):
        said.append(f"output.heater is written up to once a second. {KEPT} {DAY}. {TAKE_ANOTHER}.")
    return tuple(said)


def _may_be_kept(oven: Oven, place: Place) -> bool:
    """False for a coil, which is the state of an output, and for a line board, which keeps nothing."""
    return not place.bits_table and not isinstance(oven.device[place.device], LineDevice)
