"""Half a minute of good readings with the heat off: how far it is, and what breaks the row."""

import threading
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field

from kilnctl.clock import Clock
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import OvenIO
from kilnctl.errors import RunRefused
from kilnctl.marks import reset_conditions
from kilnctl.readings import UNHEARD, Scan

PATIENCE = 4  # times the good readings that are asked for; then it is said what is wrong with them
TELL_S = 5.0
MOST_CAUSES = 3
WIRE = "see to the data cable, its terminals and the board's supply"
SENSOR = "see to the sensor, its wire and its terminals"
NOT_OFF, LIVE = "off was not read back", "the element is live"


@dataclass(slots=True)
class GoodRow:
    """Good readings in a row, and what broke it: how often each cause came, and what to do about it."""

    good_s: float = 0.0
    most_s: float = 0.0
    told_s: float = 0.0
    broke: str = ""
    count: Counter[str] = field(default_factory=Counter)
    cures: dict[str, str] = field(default_factory=dict)

    def add(self, tick_s: float, cause: str, cure: str) -> None:
        """Count one reading; a good one has no cause."""
        self.good_s = 0.0 if cause else self.good_s + tick_s
        self.most_s = max(self.most_s, self.good_s)
        if cause:
            self.broke, self.cures[cause] = cause, cure
            self.count[cause] += 1

    def progress(self, passed_s: float) -> str:
        """Say how far it is, once in some seconds."""
        if passed_s - self.told_s < TELL_S:
            return ""
        again = f"; begins again: {self.broke}" if self.broke else ""
        self.told_s, self.broke = passed_s, ""
        return f"  good for {self.good_s:.0f} s of {reset_conditions.GOOD_S:.0f} s{again}"

    def why_not(self) -> str:
        """Say the commonest causes with their counts, then what to do."""
        common = self.count.most_common(MOST_CAUSES)
        said = "; ".join(f"{cause} ({n} time{'s' if n > 1 else ''})" for cause, n in common)
        cures = "; ".join(dict.fromkeys(self.cures[cause] for cause, _ in common))
        asked_s = reset_conditions.GOOD_S
        return (
            f"the readings were good for {self.most_s:.0f} s in a row, not for {asked_s:.0f} s: {said}. "
            f"{cures[:1].upper()}{cures[1:]}; then try again"
        )


def good_readings(oven_io: OvenIO, oven: Oven, clock: Clock, tell: Callable[[str], object]) -> Scan:
    """Read until the readings were good for long enough in a row; off is sent again with each of them.

    Return the last. Raises RunRefused with what was wrong where they never were.
    """
    never, row = threading.Event(), GoodRow()
    tell(f"reading {oven.name} for {reset_conditions.GOOD_S:.0f} s, heat off")
    began_s = deadline_s = clock.now_s()
    while deadline_s - began_s < PATIENCE * reset_conditions.GOOD_S:
        scan = oven_io.scan(clock.now_s())
        row.add(oven.tick_s, *_why_bad(scan, oven_io.off(), oven))
        deadline_s += oven.tick_s
        clock.wait_until(deadline_s, never)
        if row.good_s >= reset_conditions.GOOD_S:
            return scan
        if line := row.progress(deadline_s - began_s):
            tell(line)
    raise RunRefused(row.why_not())


def _why_bad(scan: Scan, off: bool, oven: Oven) -> tuple[str, str]:
    """Return what is wrong with a look, and what to do about it; empty where it is good."""
    if not off or scan.heater_live is True:
        return (LIVE if scan.heater_live else NOT_OFF), f"switch off at the isolator: {oven.isolator}"
    if scan.process.good:
        return "", ""
    if scan.process.quality in UNHEARD:
        return scan.process.why, WIRE
    return scan.process.quality.value, SENSOR
