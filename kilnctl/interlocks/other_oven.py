"""Another oven behind the file: what is known of one, its limit first of all, does not hold for the other."""

from typing import ClassVar

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import Alarm, Observation, Priority, Reaction, ResetClass, Trip, Unlike

# No sensor becomes a third quicker and no element half as strong again; together with a weak heater a slow
# sensor may come by chance, but not half as far again beyond what is noticed. So far for one constant at a
# time. Of sound ovens with every constant off by up to a fifth at once and the supply by a tenth, from cold,
# 5 of 73 looked like another one: the quickest sensor x 0.50, where the small oven behind the furnace's file
# came to x 0.49. No number parts them, so with somebody there it is a call, and a stop without.
QUICKEST, STRONGEST, BOTH_BEYOND = 0.7, 1.5, 1.5
FOR_S = 60.0
# The lowest temper of the trade is 150 degC: whatever oven it is stands this much, coast included. Of sound
# ovens off by a fifth in everything two in a hundred were stopped below it.
STANDS_C = 130.0
# By the measured current: an element is good to 5 or 10 %, its resistance moves by a few per cent with heat.
DRAWS_TELL, DRAWS_STOP = 1.2, 1.4
# A reading that has stood still for longer says nothing of the oven.
STILL_S = 30.0


class OtherOven:
    """A learned oven whose lag and power belong to another, or an element that draws what no other does.

    Told where both are beyond what is usual. Far beyond it an unattended heat is stopped, once hot; in an
    attended one the person sees at a glance what no number tells, and is called. A measured current stops
    either. A heater that is weak alone is left to the balance of energy, a slow sensor alone to the screen.
    Judged on heats from cold, and only while the readings are good and move, every answer comes, and the
    door is shut.
    """

    kind: ClassVar[str] = "other_oven"
    label: ClassVar[str] = "oven's behaviour"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._power_w = oven.power_w
        self.blind = not limits.learned and oven.signal.current_a is None
        self._far_s = self._share = self._still_s = 0.0
        self._raw: float | None = None
        self._unlike: Unlike | None = None
        self._of_heat = self._beyond = 0.0

    def check(self, seen: Observation) -> Trip | Alarm | None:
        """Judge what this heat has found of its oven, once it persists."""
        sound = self._sound(seen)
        if sound and seen.unlike is not self._unlike:  # the same in most ticks
            self._unlike = seen.unlike
            self._of_heat, self._beyond = _far(self._unlike)
        found, drawn = self._unlike, seen.drawn
        if found is None and drawn is None:
            self._share = self._far_s = 0.0
            return None
        of_heat = self._of_heat
        of_current = 0.0 if drawn is None else (drawn - 1.0) / (DRAWS_STOP - 1.0)
        self._share = of_current if of_current > of_heat else of_heat
        if of_current >= 1.0 or (of_heat >= 1.0 and seen.unattended):
            self._far_s += seen.dt_s * sound
        else:
            self._far_s = 0.0
        # Nothing is stopped yet, but a person must be called.
        told = self._beyond > 1.0 or (drawn is not None and drawn > DRAWS_TELL)
        if self._share < 1.0 and not told:
            return None
        if found is None or (drawn is not None and of_current >= of_heat):
            draws_w = (drawn or 0.0) * self._power_w
            what = f"the element draws {draws_w:.0f} W, the file says {self._power_w:.0f} W"
        else:
            what = f"unlike the learned oven, sensor lag x {found.lag:.2f}, heater power x {found.power:.2f}"
        reason = f"{what}: is this another oven's file?"
        if self._far_s >= FOR_S and (of_current >= 1.0 or (seen.scan.process.value or 0.0) >= STANDS_C):
            return Trip(self.kind, reason, seen.at_s, Reaction.STOP, ResetClass.B, "learn")
        return Alarm(self.kind, reason, seen.at_s, Priority.URGENT)

    def _sound(self, seen: Observation) -> bool:
        """Return whether this observation may say something of the oven."""
        scan, process = seen.scan, seen.scan.process
        raw = process.raw if process.raw is not None else process.value
        self._still_s = self._still_s + seen.dt_s if raw == self._raw else 0.0
        self._raw = raw
        whole = process.good and scan.heat_on is not None and scan.link.bad_fraction == 0.0
        return whole and not scan.door_open and self._still_s < STILL_S

    def distance(self) -> Distance:
        """Return how far from the learned oven, as a share of what stops."""
        note = "not learned, and no current is measured" if self.blind else ""
        return Distance(self._share, 1.0, "of another", near(self._share, 1.0), note)


def _far(unlike: Unlike | None) -> tuple[float, float]:
    """Return how far on the way to what stops (1 there), and how far both are beyond what is usual."""
    if unlike is None:
        return 0.0, 0.0
    both = min(unlike.lag_beyond, unlike.power_beyond)
    quick = (1.0 - unlike.lag) / (1.0 - QUICKEST)
    strong = (unlike.power - 1.0) / (STRONGEST - 1.0)
    return max(0.0, quick, strong, both / BOTH_BEYOND), both
