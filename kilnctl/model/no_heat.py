"""A door or no heat: both let a reading fall away from the oven that is asked to heat.

A door makes an oven lose heat; it does not stop the element. So what is lost through it has nothing to do
with the heat asked, and the answer to that heat comes. An oven that gets none of it cools along the course
of its own losses, however much is asked.
"""

from collections import deque
from typing import NamedTuple

from kilnctl.model.oven_model import OvenModel, OvenState, advance

# Heat that is missing shows in the reading after so long at most.
_KEPT_S = 120.0
# How far the mean of ten seconds may lie off the course of an oven without heat: so much, and a share of
# what the heat asked should have brought meanwhile. Measured on ovens whose supply is off by a tenth: 0.8 K
# at most where no heat came; a door's cold air is 1.9 K off or more, after the first ten seconds already.
# Twice in a row so, and so much asked that nothing else looks alike, it is found.
_OFF_K, _OFF_SHARE, _ENOUGH_K, _MEAN_S, _LOOKS = 0.5, 0.1, 4.0, 10.0, 2


class Kept(NamedTuple):
    """What was believed of an oven at some age, and the seconds of full heat asked until then."""

    age_s: float
    flowed_s: float
    state: OvenState


class NoHeat:
    """Follows an oven twice from a sudden fall on, with the heat asked and with none.

    `proved` is True once the reading has kept to the course without heat while the two came apart.
    """

    def __init__(self, model: OvenModel) -> None:
        self._model = model
        self._kept: deque[Kept] = deque()
        self._with: OvenState | None = None
        self._without: OvenState | None = None
        self._off_k = self._apart_k = self._span_s = 0.0
        self._looks = 0
        self.proved = False

    @property
    def asks(self) -> bool:
        """Return whether two courses are being followed."""
        return self._with is not None

    def believed(self, age_s: float) -> Kept | None:
        """Return what was believed last before an age, None where that is not kept."""
        return next((one for one in reversed(self._kept) if one.age_s <= age_s), None)

    def keep(self, age_s: float, flowed_s: float, state: OvenState) -> None:
        """Keep what is believed of the oven, and the seconds of full heat asked until now."""
        self._kept.append(Kept(age_s, flowed_s, state))
        while age_s - self._kept[0].age_s > _KEPT_S:
            self._kept.popleft()

    def begin(self, process_c: float, ambient_c: float, age_s: float, flowed_s: float) -> None:
        """Take a sudden fall (reading in degC) for heat that is missing since the time that fits."""
        self.drop()
        kept = [one for one in self._kept if one.age_s < age_s]
        offs_k = [process_c - self._unheated(one, age_s, ambient_c).junction_c for one in kept]
        above = [place for place, off_k in enumerate(offs_k) if off_k >= 0.0]
        if not above:
            self._begin_at_the_nearest(kept, offs_k, process_c, ambient_c, age_s, flowed_s)
            return
        place = above[-1]
        if place + 1 == len(kept):
            return  # heat comes
        last, following = kept[place], kept[place + 1]
        share = offs_k[place] / (offs_k[place] - offs_k[place + 1])
        span_s, rest_s = following.age_s - last.age_s, age_s - following.age_s
        before, since = (
            (following.flowed_s - last.flowed_s) / span_s,
            (flowed_s - following.flowed_s) / rest_s,
        )
        came = advance(self._model, last.state, before, ambient_c, share * span_s)
        self._without = advance(self._model, came, 0.0, ambient_c, (1.0 - share) * span_s + rest_s)
        came = advance(self._model, last.state, before, ambient_c, span_s)
        self._with = advance(self._model, came, since, ambient_c, rest_s)

    def _begin_at_the_nearest(
        self,
        kept: list[Kept],
        offs_k: list[float],
        process_c: float,
        ambient_c: float,
        age_s: float,
        flowed_s: float,
    ) -> None:
        """Colder than without any heat, by no more than losses are off: none has come since then."""
        if not kept or max(offs_k) < -_OFF_K:
            return
        last = kept[offs_k.index(max(offs_k))]
        span_s = age_s - last.age_s
        self._without = self._unheated(last, age_s, ambient_c)
        self._with = advance(self._model, last.state, (flowed_s - last.flowed_s) / span_s, ambient_c, span_s)

    def _unheated(self, kept: Kept, age_s: float, ambient_c: float) -> OvenState:
        return advance(self._model, kept.state, 0.0, ambient_c, age_s - kept.age_s)

    def drop(self) -> None:
        """Give the question up: it was something else, or is answered."""
        self._with = self._without = None
        self._off_k = self._apart_k = self._span_s = 0.0
        self._looks, self.proved = 0, False

    def step(self, process_c: float, heat: float, ambient_c: float, dt_s: float) -> None:
        """Follow both courses for a tick, and judge the mean of some readings."""
        if self._with is None or self._without is None:
            return
        self._with = advance(self._model, self._with, heat, ambient_c, dt_s)
        self._without = advance(self._model, self._without, 0.0, ambient_c, dt_s)
        self._off_k += (process_c - self._without.junction_c) * dt_s
        self._apart_k += (self._with.junction_c - self._without.junction_c) * dt_s
        self._span_s += dt_s
        if self._span_s >= _MEAN_S:
            self._judge(self._off_k / self._span_s, self._apart_k / self._span_s)

    def _judge(self, off_k: float, apart_k: float) -> None:
        self._off_k = self._apart_k = self._span_s = 0.0
        self._looks += 1
        if abs(off_k) > _OFF_K + _OFF_SHARE * apart_k:
            self.drop()
        self.proved = self._looks >= _LOOKS and apart_k >= _ENOUGH_K
