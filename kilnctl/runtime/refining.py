"""What a heat finds changed on its oven, kept for the next heat: sensor lag and heater power.

The next heat's control starts from the change by itself, said aloud; it re-estimates it in any case, and a
later heat takes it back. Watchdog and interlock limits stay those of the learned model until a person has
said yes (`kilnctl tune OVEN --changed`): what may be a fault must not be learned away.
"""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kilnctl.logbook.entries import LearnedOven, OvenChange, newest
from kilnctl.logbook.readers import Reader
from kilnctl.model.oven import OvenModel

if TYPE_CHECKING:
    from kilnctl.control.controller import Evidence

# Changes beyond these are no ageing: nothing is taken over, the oven has to be looked at and learned again.
MOST_LAG, LEAST_LAG = 2.5, 0.5
MOST_POWER, LEAST_POWER = 1.15, 0.75
# A change smaller than this (logarithm) is forgotten again; the gap to what is noticed stops flapping.
LAG_GONE, POWER_GONE = 0.10, 0.03
# So little against what is in force already is not written down again.
SAME_LAG, SAME_POWER = 0.05, 0.015


@dataclass(frozen=True, slots=True)
class Known:
    """What the logbook knows of an oven: the learned model, its entry's number, and the change in force."""

    model: OvenModel
    number: int
    change: OvenChange | None = None

    @property
    def control_model(self) -> OvenModel:
        """Return the model that control starts from."""
        return self.model if self.change is None else changed(self.model, self.change)

    def words(self) -> str:
        """Say what this heat starts from; empty where nothing has changed since the oven was learned."""
        return "" if self.change is None else f"run {self.change.run} found: {say(self.change)}"


def changed(model: OvenModel, change: OvenChange) -> OvenModel:
    """Return the model with a change applied; it keeps its covariance, which belongs to the logarithms."""
    return model.scaled(lag=change.lag, power=change.power)


def say(change: OvenChange) -> str:
    """Return a change in words."""
    said = [f"sensor lag x {change.lag:.2f}"] if change.lag != 1.0 else []
    said += [f"heater power x {change.power:.2f}"] if change.power != 1.0 else []
    return " and ".join(said) or "as it was learned"


def known_of(reader: Reader, oven: str) -> Known | None:
    """Return what is known of an oven, None where it has not been learned."""
    found = newest(reader, LearnedOven, oven)
    if found is None:
        return None
    row, entry = found
    later = newest(reader, OvenChange, oven)
    change = later[1] if later is not None and later[1].learned == row.number else None
    if change is not None and change.lag == change.power == 1.0:
        change = None
    return Known(OvenModel.from_dict(entry.model), row.number, change)


def found_changed(oven: str, known: Known, seen: "Evidence", run: int | None) -> OvenChange | None:
    """Return the change to write down after a heat, None where what is in force stands."""
    if not seen.sure:
        return None
    before = known.change or OvenChange(oven, known.number)
    lag = _factor(seen.lag * before.lag, seen.lag_noticed or before.lag != 1.0, LAG_GONE)
    power = _factor(seen.power * before.power, seen.power_noticed or before.power != 1.0, POWER_GONE)
    if not (LEAST_LAG <= lag <= MOST_LAG and LEAST_POWER <= power <= MOST_POWER):
        return None
    same = _near(lag, before.lag, SAME_LAG) and _near(power, before.power, SAME_POWER)
    if same and (lag == 1.0) == (before.lag == 1.0) and (power == 1.0) == (before.power == 1.0):
        return None
    change = OvenChange(oven, known.number, lag, power, seen.lag_sd, seen.power_sd, run)
    note = f"{say(change)}; the next heat's control starts from it, the watchdog does not"
    return OvenChange(oven, known.number, lag, power, seen.lag_sd, seen.power_sd, run, note)


def _factor(total: float, noticed: bool, gone: float) -> float:
    """Return the factor to keep: 1 for what nobody noticed, or what has gone again."""
    return round(total, 4) if noticed and abs(math.log(total)) > gone else 1.0


def _near(a: float, b: float, within: float) -> bool:
    return abs(math.log(a / b)) < within
