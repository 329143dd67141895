"""The watchdog's eye: how much heat flows that the oven model cannot explain.

A Kalman filter on the oven model, driven by the commanded heat, estimates one unknown heat flow as a
fraction of full power. A welded relay shows as a flow near +1, a dead element or a fallen-out sensor as a
negative one. It never adapts the model to what it sees, so that a fault cannot be learned away.
"""

import math

from kilnctl.model.deep_fall import DeepFall
from kilnctl.model.filter import LOST_S, OvenFilter
from kilnctl.model.heat_shows import BEFORE_S, HeatShows
from kilnctl.model.no_heat import NoHeat
from kilnctl.model.oven_model import OvenModel
from kilnctl.model.trust import Trust

# Before this much time has passed from the start, a door or a jump in time, nothing is claimed.
SETTLE_S = 120.0
# Walk of the unknown heat and of each temperature. Measured on models wrong by a fifth in capacity and loss,
# 30 % in coupling and half in sensor lag: largest claim in a healthy heat and time to find a weld.
_TRUST = Trust(unknown_sd=0.05, unknown_rate=0.008, drift_k=0.05, interval_s=10.0, in_element=True)


# A cold charge takes heat that no model knows; for this long after a door that is no claim of a dead element.
_CHARGE_S = 1200.0
_DOOR_SD = 0.2
# After a door the sensor tells about cold air first; for this long nothing at all is claimed.
_DOOR_S = 300.0
# Where no switch tells of the door, a reading that falls away from the model by so much between two
# corrections, and by so many standard deviations, has been struck by cold air. In a soak at rest it is 1.7
# of them at most; a muffle that got a cold charge came to 6.5. Nobody opens a door while nearly full heat
# flows, and there an element that dies may look alike.
_STRUCK_K, _STRUCK_SDS, _NEARLY_FULL, _LATELY_S = 1.0, 5.0, 0.6, 120.0
# While a charge may be in, nothing is claimed that is less than this: a small one takes it in any hold.
_LACKS = 0.3


class Observer:
    """Estimates the unexplained heat, once a tick.

    `switched`: a switch tells of the door; `struck` where none does, and cold air has just struck the sensor.
    """

    def __init__(self, model: OvenModel, switched: bool = True) -> None:
        self._filter, self._switched = OvenFilter(model, _TRUST), switched
        self._no_heat, self._kept_s, self._shows = NoHeat(model), 0.0, HeatShows(model)
        self._deep = DeepFall()
        self._settled_s = self._charge_s = self._lately = 0.0
        self.struck = False
        self._door_open = False
        self._alone_s = self._shut_s = math.inf

    def step(
        self,
        process_c: float,
        heat: float,
        ambient_c: float,
        dt_s: float,
        door_open: bool = False,
        asked: bool = False,
    ) -> None:
        """Take one good reading in degC and the heat (0..1) commanded since the last one.

        `asked` while a person is asked to the oven: without a switch heat may be missing then, as after a
        door.
        """
        if dt_s <= 0.0:
            return
        self._lately += (heat - self._lately) * dt_s / (dt_s + _LATELY_S)
        self._struck_by(door_open)
        self._filter.step(process_c, heat, ambient_c, dt_s)
        self._charge_s -= dt_s
        was, self.struck = self.struck, not self._switched and self._fell(asked)
        if not self._switched:
            # While a person is asked to the oven its isolator may be off; a charge then falls like no heat.
            falls = self.struck and not was and self._settled_s >= 0.0 and self._alone_s >= _DOOR_S - SETTLE_S
            self._follow(process_c, heat, ambient_c, dt_s, falls)
            self._follow_what_shows(process_c, heat, ambient_c, dt_s, asked)
        if self.struck and not door_open:
            door_open = True
            self._struck_by(True)
        self._alone_s = 0.0 if asked and not self._switched else self._alone_s + dt_s
        if dt_s > LOST_S:
            self._settled_s = 0.0
            self._shows.drop()
        elif door_open:
            self._settled_s, self._charge_s = SETTLE_S - _DOOR_S, _CHARGE_S
        else:
            self._settled_s += dt_s
            # What may be missing is a cold part's; what is too much is a relay's, whoever stands there.
            if asked and not self._switched:
                self._charge_s = _CHARGE_S

    def _follow(self, process_c: float, heat: float, ambient_c: float, dt_s: float, falls: bool) -> None:
        """Ask whether what looked like a door was heat that is missing."""
        seen, no_heat = self._filter, self._no_heat
        no_heat.step(process_c, heat, ambient_c, dt_s)
        if falls:
            no_heat.begin(process_c, ambient_c, seen.age_s, seen.flowed_s)
        if no_heat.proved:
            no_heat.drop()
            self._charge_s, self._settled_s = 0.0, SETTLE_S
        self._kept_s += dt_s
        if self._kept_s >= _TRUST.interval_s and seen.state is not None:
            self._kept_s = 0.0
            no_heat.keep(seen.age_s, seen.flowed_s, seen.state)

    def _follow_what_shows(
        self, process_c: float, heat: float, ambient_c: float, dt_s: float, asked: bool
    ) -> None:
        """Ask what shows of the heat while a person is asked to the oven, and for 20 min after.

        And after what looked like a door: a sensor that slides out looks so for minutes, time and again.
        """
        seen, shows = self._filter, self._shows
        begins = (asked and self._alone_s > 0.0) or (self.struck and self._shut_s > 0.0)
        self._shut_s = 0.0 if asked or self.struck else self._shut_s + dt_s
        self._deep.step(process_c, ambient_c, asked, begins, dt_s)
        if self._shut_s >= _CHARGE_S:
            shows.drop()
            self._deep.drop()
        elif shows.may_begin and (before := self._no_heat.believed(seen.age_s - BEFORE_S)):
            shows.begin(before, seen.age_s, seen.flowed_s, ambient_c)
        shows.step(process_c, heat, ambient_c, dt_s)

    def _struck_by(self, door_open: bool) -> None:
        if door_open:
            self._filter.shake(0.0 if self._door_open else _DOOR_SD)
            self._charge_s = _CHARGE_S
        self._door_open = door_open

    def _fell(self, asked: bool) -> bool:
        fell = self._filter.off_k < -_STRUCK_K and self._filter.jump < -_STRUCK_SDS
        return fell and (asked or self._lately < _NEARLY_FULL)

    @property
    def unexplained(self) -> float | None:
        """Return the unexplained heat as a fraction of full power; None where nothing can be claimed.

        That is until the estimate has settled, and of missing heat for 20 min after the door or a step, but
        for heat of which too little shows, and for a reading that stays too deep for any charge.
        """
        claim = self._filter.unknown
        lacking = self._shows.lacking or self._deep.stays
        if claim < -_LACKS and lacking and self._filter.age_s >= SETTLE_S:
            return claim
        charged = claim < 0.0 and self._charge_s > 0.0
        return None if self._settled_s < SETTLE_S or charged else claim
