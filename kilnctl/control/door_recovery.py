"""After a door: what may be believed of a sensor in cold air, and how much heat a cold charge can drink.

Cold air makes the sensor fall at once while brick and element have hardly changed, so a filter that believes
it fills the oven with heat that nobody missed. What a charge can take is bounded by radiation and film; a
door never brings heat; and the first pulses after it end early, because their forecast is a guess.
"""

import math

from kilnctl.control.control_io import ControlInput
from kilnctl.model.filter import OvenFilter
from kilnctl.model.recent_estimates import Read

_KELVIN = 273.15
# While this lasts the bounds hold; cold air has gone sooner, and a charge drinks for longer.
_DOUBT_S, _AIR_S, _CHARGE_S = 300.0, 60.0, 1200.0
# What a charge may take, as a share of full power: by film, and by radiation at 827 degC (fourth power).
# 0.5 kg of 10 mm plate takes 0.02 of 2400 W at 218 degC and 0.35 at 829 degC, by the textbook formulas. More
# than that is asked anew as the reading shows it; believed at once it was cold air, and passed by 5 K.
_BY_FILM, _BY_GLOW, _GLOWING_K = 0.02, 0.4, 1100.0
# What it takes changes as it warms: by so much per square root of a second where it glows. As slow as in a
# hold at rest, a stone floor was held by what its charge had drunk minutes before (4.2 K over, 2.3 since).
_GLOW_RATE = 0.009
# Standard deviation of the same, for the filter.
_FILM_SD, _GLOW_SD = 0.02, 0.25
# Heat may be missing by this much less than before the door, no more: noise.
_MORE = 0.01
# The coast of the first pulses ends this far from the goal, and is taken this much longer than foreseen where
# the chamber does not glow: with 1.4 and 1.5 K a muffle dipped below the band once more (2.1 times the limit
# instead of 1.8), and passed no less. A glowing oven warms its sensor by itself.
_MARGIN_K, _CAUTION, _GLOWING = -0.5, 1.25, 0.3


class AfterDoor:
    """Remembers the door. One per run. `unseen`: no switch tells of it, the cold air itself does.

    `airs` while cold air may blow on the sensor, `in_doubt` while it may still tell more about air than about
    the oven, `charged` while a cold charge may be in. `drinks` is what that takes beyond what was missing
    before the door (share of full power): the least seen since the air went, because it drinks ever less.
    What a filter finds more later is the reading's fall after a cut (0.24 for 0.10, in a closed box).
    """

    def __init__(self, unseen: bool = False, ambient_c: float = 20.0) -> None:
        self._unseen, self._ambient_c = unseen, ambient_c
        self._open = False
        self._shut_s = -1e9
        self.in_doubt = self.charged = self.airs = False
        self._before = self._glow = 0.0
        self.drinks = 0.0

    def see(self, look: ControlInput, filter_: OvenFilter) -> bool:
        """Take note once a tick, and tell the filter. Return whether the door stands open."""
        since_s = 0.0 if look.door_open else look.at_s - self._shut_s
        self.airs, self.charged = since_s < _AIR_S, since_s < _CHARGE_S
        self.in_doubt = look.at_s - self._shut_s < _DOUBT_S
        again: list[Read] = []
        if look.door_open:
            first = not self._open
            if first:
                self.drinks = math.inf
            if first and not self.in_doubt:
                again = filter_.take_back() if self._unseen else again
                self._before = filter_.unknown
                self._glow = ((look.process_c + _KELVIN) / _GLOWING_K) ** 4
            self._shut_s, self.in_doubt = look.at_s, True
            filter_.shake(_FILM_SD + _GLOW_SD * self._glow if first else 0.0)
        if self.charged and not self.airs:
            drinks = self._before - filter_.unknown
            drinks = 0.0 if drinks < 0.0 else drinks
            self.drinks = drinks if drinks < self.drinks else self.drinks
        self._open = look.door_open
        filter_.bounds = (self._least, self._before + _MORE) if self.in_doubt else None
        for read in again:
            filter_.shake(0.0)
            filter_.step(read.process_c, read.heat, self._ambient_c, read.dt_s)
        return self._open

    @property
    def _least(self) -> float:
        return self._before - _BY_FILM - _BY_GLOW * self._glow

    @property
    def walks(self) -> float:
        """Return how fast the heat that a charge takes may change, per square root of a second."""
        return _GLOW_RATE * self._glow if self.charged else 0.0

    def sets_aside(self, by_readings: bool) -> bool:
        """Return whether a hold has to wait: for the air, or where it goes by its model till it is sure."""
        return self.airs or (self.in_doubt and not by_readings)

    @property
    def margin_k(self) -> float:
        """Return how far from the goal the coast of a pulse shall end, while in doubt."""
        return _MARGIN_K

    @property
    def caution(self) -> float:
        """Return how much longer a coast is taken than foreseen, while in doubt."""
        return _CAUTION if self._glow < _GLOWING else 1.0

    def believed(self, unknown: float) -> float:
        """Return the unexplained heat to reckon with, as a fraction of full power."""
        if not self.in_doubt:
            return unknown
        return max(min(unknown, self._before + _MORE), self._least)
