"""What a heat finds changed on its oven, kept for the next heat: sensor lag or heater power.

The next heat starts from the change by itself, said aloud; it re-estimates it in any case, and a later heat
takes it back. A lag is kept for control and forecast, less power than learned for the forecast alone: the
supply may be back tomorrow, and a control that counts on a weak heater cuts too late (6 K over on a fibre
oven), while one that counts on the learned power finds the weak one by itself (0.5 K over at most).
Watchdog and interlock limits stay those of the learned model until a person has said yes (`kilnctl tune
OVEN --changed`): what may be a fault must not be learned away.
"""

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from kilnctl.care.survey import surveys_of
from kilnctl.config.oven import Oven
from kilnctl.logbook.entries import LearnedOven, OvenChange, newest
from kilnctl.logbook.readers import Reader
from kilnctl.model.oven_model import OvenModel

if TYPE_CHECKING:
    from kilnctl.control.heat_controller import Evidence

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
    def likely_model(self) -> OvenModel:
        """Return the model of the oven as it was last: what forecasts go by."""
        return self.model if self.change is None else changed(self.model, self.change)

    @property
    def control_model(self) -> OvenModel:
        """Return the model that control starts from: with the stronger of learned and last power."""
        return as_found(self.model, *self.steered)

    @property
    def steered(self) -> tuple[float, float]:
        """Return the factors on sensor lag and heater power of the model that control starts from."""
        return (1.0, 1.0) if self.change is None else (self.change.lag, max(self.change.power, 1.0))

    def words(self) -> str:
        """Say what this heat starts from; empty where nothing has changed since the oven was learned."""
        if self.change is None:
            return ""
        uses = ["control starts from it"] if self.steered != (1.0, 1.0) else []
        if self.change.power < 1.0:
            uses.append("forecasts use the weaker heater, control finds it again")
        return f"run {self.change.run} found: {say(self.change)}; {', '.join(uses)}"


def changed(model: OvenModel, change: OvenChange) -> OvenModel:
    """Return the model with a change applied; it keeps its covariance, which belongs to the logarithms."""
    return as_found(model, change.lag, change.power)


def as_found(model: OvenModel, lag: float, power: float, load: float = 1.0) -> OvenModel:
    """Return the model scaled, and with it what is known of its cooling, which hides no load."""
    now = replace(model.scaled(lag, power, load), surveyed=model.surveyed)
    return now if model.cools is None else replace(now, cools=model.cools.scaled(lag, power))


def say(change: OvenChange) -> str:
    """Return a change in words."""
    said = [f"sensor lag x {change.lag:.2f}"] if change.lag != 1.0 else []
    said += [f"heater power x {change.power:.2f}"] if change.power != 1.0 else []
    return " and ".join(said) or "as it was learned"


def known_of(reader: Reader, oven: Oven) -> Known | None:
    """Return what is known of an oven as its file is now, None where it has not been learned."""
    found = newest(reader, LearnedOven, oven.name)
    if found is None:
        return None
    row, entry = found
    later = newest(reader, OvenChange, oven.name)
    change = later[1] if later is not None and later[1].learned == row.number else None
    if change is not None and change.lag == change.power == 1.0:
        change = None
    model = replace(OvenModel.from_dict(entry.model), surveyed=surveys_of(reader, oven))
    return Known(model, row.number, change)


def found_changed(oven: str, known: Known, evidence: "Evidence", run: int | None) -> OvenChange | None:
    """Return the change to write down after a heat, None where what is in force stands."""
    if not evidence.sure:
        return None
    if evidence.as_started:
        evidence = replace(evidence, lag=1.0, power=1.0, lag_noticed=True, power_noticed=True)
    before = known.change or OvenChange(oven, known.number)
    of_lag, of_power = known.steered
    lag = _factor(evidence.lag * of_lag, LAG_GONE) if evidence.lag_noticed else before.lag
    power = _factor(evidence.power * of_power, POWER_GONE) if evidence.power_noticed else before.power
    if not (LEAST_LAG <= lag <= MOST_LAG and LEAST_POWER <= power <= MOST_POWER):
        return None
    same = _near(lag, before.lag, SAME_LAG) and _near(power, before.power, SAME_POWER)
    if same and (lag == 1.0) == (before.lag == 1.0) and (power == 1.0) == (before.power == 1.0):
        return None
    change = OvenChange(oven, known.number, lag, power, evidence.lag_sd, evidence.power_sd, run)
    note = f"{say(change)}; the next heat starts from it, the watchdog does not"
    return OvenChange(oven, known.number, lag, power, evidence.lag_sd, evidence.power_sd, run, note)


def _factor(total: float, gone: float) -> float:
    """Return the factor to keep: 1 for what has gone again."""
    return round(total, 4) if abs(math.log(total)) > gone else 1.0


def _near(a: float, b: float, within: float) -> bool:
    return abs(math.log(a / b)) < within
