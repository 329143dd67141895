"""What a look ahead starts from now, and how late this oven answers: asked by approach, arrival and hold."""

from kilnctl.config.oven import Oven
from kilnctl.control.control_io import ControlInput
from kilnctl.control.door_recovery import AfterDoor
from kilnctl.control.pid_tuning import tangent
from kilnctl.model.coast import Outlook
from kilnctl.model.filter import OvenFilter
from kilnctl.model.oven_model import OvenState

_SHORTEST_S, LONGEST_S = 40.0, 600.0
# A light oven answers sooner, to heat that a model misses too: no longer than full heat lifts it by so much.
# Aimed 40 s ahead, light fibre sagged by 7 K after its arrival where a twentieth of full power was missed.
_LIFTS_K, _LIGHTEST_S = 50.0, 20.0
_PLACE_C = 50.0
# Where it glows no oven lands, so it is held by the dead time of today's sensor, asked anew where that is
# later by so much (in the logarithm): by the learned one's a tube half as slow again swung by 3 K.
LANDS_TO_C, _LATER = 500.0, 0.2


class Foresight:
    """The filter's model and what is believed of unexplained heat. One per run."""

    def __init__(self, oven: Oven, filter_: OvenFilter, door: AfterDoor) -> None:
        self._ambient_c, self.filter, self.door = oven.ambient_c, filter_, door
        self._answers: dict[tuple[int, int], tuple[float, float]] = {}

    def outlook(self, state: OvenState) -> Outlook:
        """Return what a look ahead starts from."""
        return Outlook(self.filter.model, state, self._ambient_c, self.unknown, self.draught_k)

    @property
    def unknown(self) -> float:
        """Return the unexplained heat to reckon with, as a fraction of full power."""
        return self.door.believed(self.filter.unknown)

    @property
    def draught_k(self) -> float:
        """Return how much colder (negative) the air at the sensor is than the chamber makes it, in K."""
        draught_k = self.filter.draught_k
        return draught_k if draught_k < 0.0 else 0.0

    def delay_s(self, look: ControlInput) -> float:
        """Return the oven's dead time in s at the set-point of a look."""
        return self.delay_at_s(look.setpoint_c or look.process_c)

    def delay_at_s(self, at_c: float) -> float:
        """Return the oven's dead time in s at a temperature in degC."""
        return self.answer_at(at_c)[1]

    def answer_at(self, at_c: float) -> tuple[float, float]:
        """Return what a second of full heat gives, in K, and the oven's dead time in s at a temperature."""
        key = round(at_c / _PLACE_C), round(self.filter.logs[0] / _LATER) if at_c > LANDS_TO_C else 0
        if key not in self._answers:
            gives, delay_s = tangent(self.filter.model, max(key[0] * _PLACE_C, 60.0), self._ambient_c)
            shortest_s = max(_LIFTS_K / max(gives, _LIFTS_K / _SHORTEST_S), _LIGHTEST_S)
            self._answers[key] = gives, min(max(delay_s, shortest_s), LONGEST_S)
        return self._answers[key]
