"""Heat that is wanted and held back: no heat without a dead-man that was fed, and somebody must know.

A refusal is a whole answer, so the link is sound; and where no heat is on, nothing that watches heat sees it.
"""

from kilnctl.devices.interfaces import OvenIO
from kilnctl.readings import Alarm, Priority

# Told after so long; a tick that was fed takes back this share of one that was not: a fifth may go astray.
TELL_S, MOST_S, BACK = 60.0, 90.0, 0.25
REFUSED_S, REFUSED_MOST_S = 3.0, 6.0  # what a device refuses it has answered: that is told much sooner
CURE = 'look at its mode and registers: `kilnctl commission OVEN --step "bus check"`'


class HeldBack:
    """Counts the ticks that want heat and are not fed."""

    def __init__(self) -> None:
        self._unfed_s = self._refused_s = 0.0
        self._refused = ""

    def see(self, wanted: bool, fed: bool, dt_s: float, refused: str = "") -> None:
        """Take one tick; `refused` is what a device has refused in it."""
        if wanted and (refused or self._refused_s > 0.0):
            refused_s = self._refused_s + (dt_s if refused else -BACK * dt_s)
            self._refused_s = min(max(refused_s, 0.0), REFUSED_MOST_S)
            self._refused = refused or self._refused
        if wanted and not (fed and self._unfed_s <= 0.0):  # in nearly every tick there is nothing to count
            unfed_s = self._unfed_s + (-BACK * dt_s if fed else dt_s)
            self._unfed_s = min(max(unfed_s, 0.0), MOST_S)

    def alarms(self, at_s: float, oven_io: OvenIO) -> tuple[Alarm, ...]:
        """Return what a person is told, with what the devices said last."""
        if self._refused_s >= REFUSED_S:
            said = f"no heat: refused by the device: {self._refused}; {CURE}"
            return (Alarm("held_back", said, at_s, Priority.URGENT),)
        if self._unfed_s < TELL_S:
            return ()
        why = getattr(oven_io, "why", "")
        said = f"no heat: the board does not accept what is written to it{why and f' ({why})'}; {CURE}"
        return (Alarm("held_back", said, at_s, Priority.URGENT),)
