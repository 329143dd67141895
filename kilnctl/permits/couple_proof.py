"""Is the sensor of the type that the oven file says? A room thermometer cannot tell: all types agree cold.

A K couple read as J shows 800 degC at 1102 degC. What tells: a known temperature well above the room, a
reference at two temperatures, or a second sensor of another type (both cannot be wrong by the same).
"""

from collections.abc import Mapping

from kilnctl.config.oven import Oven
from kilnctl.permits.open_steps import StepResult, open_or_overdue
from kilnctl.permits.setup_steps import BY_NAME

# Boiling water does not part these: R and S differ by 0.1 K there, B gives next to no voltage (IEC 60584-1).
NOBLE = ("R", "S", "B")
# From here on R and S are more than 10 K apart, which no reference check passes (IEC 60584-1).
NOBLE_FROM_C = 500.0
UPPER_POINT = "upper point, °C"


def couple_unproved(oven: Oven, done: Mapping[str, StepResult], now_s: float, oven_hash: str) -> str:
    """Say that nothing proves the sensor's type, and what would; empty where something does."""

    def holds(name: str) -> bool:
        return not open_or_overdue([BY_NAME[name]], done, now_s, oven, oven_hash)

    noble = oven.signal.process.couple in NOBLE
    reference = holds("reference check") and (
        not noble or float(done["reference check"].data.get(UPPER_POINT, 0.0)) >= NOBLE_FROM_C
    )
    if two_kinds(oven) or reference or (not noble and holds("known temperature")):
        return ""
    how = f"the reference check, up to {NOBLE_FROM_C:.0f} °C" if noble else '"known temperature"'
    return f"nothing proves the sensor's type (a wrong one reads hundreds of degrees low): do {how}"


def two_kinds(oven: Oven) -> bool:
    """True where a second sensor of another type stands beside the first."""
    sensors = (oven.signal.process, oven.signal.second)
    return len({sensor.couple for sensor in sensors if sensor is not None} - {"other"}) == len(sensors)
