"""After a door: what may be believed of a sensor in cold air, and how much heat a cold charge can drink.

Cold air makes the sensor fall at once while brick and element have hardly changed, so a filter that believes
it fills the oven with heat that nobody missed. What a charge can take is bounded by radiation and film; a
door never brings heat; and the first pulses after it end early, because their forecast is a guess.
"""

from kilnctl.control.control_io import ControlInput
from kilnctl.model.filter import OvenFilter

_KELVIN = 273.15
# While this lasts the bounds hold.
_DOUBT_S = 300.0
# What a charge may take, as a share of full power: by film, and by radiation at 827 degC (fourth power).
# 0.5 kg of 10 mm plate takes 0.02 of 2400 W at 218 degC and 0.35 at 829 degC, by the textbook formulas. More
# than that is asked anew as the reading shows it; believed at once it was cold air, and passed by 5 K.
_BY_FILM, _BY_GLOW, _GLOWING_K = 0.02, 0.4, 1100.0
# Standard deviation of the same, for the filter.
_FILM_SD, _GLOW_SD = 0.02, 0.25
# Heat may be missing by this much less than before the door, no more: noise.
_MORE = 0.01
# The coast of the first pulses ends this far from the goal, and is taken this much longer than foreseen: at
# 1.25 two of 52 recoveries at 218 degC on invented ovens passed + 3 K, at 1.4 none. A glowing oven warms its
# sensor by itself: there 1.4 only costs time (a heavy furnace 1.7 times the limit instead of 1.4), and to end
# 1.5 K low dips below the band once more (2.0 instead of 1.05).
_MARGIN_K, _CAUTION = -1.5, 1.4
_MARGIN_GLOWING_K, _GLOWING = -0.5, 0.3


class AfterDoor:
    """Remembers the door. One per run. `unseen`: no switch tells of it, the cold air itself does.

    `in_doubt` while the sensor may still tell more about air than about the oven.
    """

    def __init__(self, unseen: bool = False, ambient_c: float = 20.0) -> None:
        self._unseen, self._ambient_c = unseen, ambient_c
        self._open = False
        self._shut_s = -1e9
        self.in_doubt = False
        self._before = self._glow = 0.0

    def see(self, look: ControlInput, filter_: OvenFilter) -> bool:
        """Take note once a tick, and tell the filter. Return whether the door stands open."""
        self.in_doubt = look.at_s - self._shut_s < _DOUBT_S
        if look.door_open:
            first = not self._open
            if first and not self.in_doubt:
                if self._unseen:
                    filter_.take_back(self._ambient_c)
                self._before = filter_.unknown
                self._glow = ((look.process_c + _KELVIN) / _GLOWING_K) ** 4
            self._shut_s, self.in_doubt = look.at_s, True
            filter_.shake(_FILM_SD + _GLOW_SD * self._glow if first else 0.0)
        self._open = look.door_open
        filter_.bounds = (self._least, self._before + _MORE) if self.in_doubt else None
        return self._open

    @property
    def _least(self) -> float:
        return self._before - _BY_FILM - _BY_GLOW * self._glow

    @property
    def margin_k(self) -> float:
        """Return how far from the goal the coast of a pulse shall end, while in doubt."""
        return _MARGIN_K if self._glow < _GLOWING else _MARGIN_GLOWING_K

    @property
    def caution(self) -> float:
        """Return how much longer a coast is taken than foreseen, while in doubt."""
        return _CAUTION if self._glow < _GLOWING else 1.0

    def drinks(self, unknown: float) -> float:
        """Return what is drunk beyond what was missing before the door, as a fraction of full power."""
        return max(self._before - self.believed(unknown), 0.0)

    def believed(self, unknown: float) -> float:
        """Return the unexplained heat to reckon with, as a fraction of full power."""
        if not self.in_doubt:
            return unknown
        return max(min(unknown, self._before + _MORE), self._least)
