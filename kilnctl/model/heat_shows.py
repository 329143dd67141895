"""What shows of the heat that is asked since a person was asked to an oven: a cold charge, or no heat at all.

A charge takes heat and is warm in the end; an oven that gets none goes on without. At any one moment a charge
that takes all the heat and an element that is dead look alike, so what is judged is a way, not a moment: of
what the heat of a minute should have moved the reading by, against the same oven without heat, how much did?
"""

import math
from collections import deque
from typing import NamedTuple

from kilnctl.model.no_heat import Kept
from kilnctl.model.oven_model import OvenModel, OvenState, advance

# Both courses begin at what was believed so long before the reading left the heated one: a late sensor, or
# one that lies away from the door, shows so much later what has happened.
BEFORE_S = 30.0
# Means of ten seconds are compared over a minute, longer where a late sensor would have moved by less than
# this; what lies longer ago says nothing of now.
_MEAN_S, _SPAN_S, _SHOWN_K, _KEPT_S = 10.0, 60.0, 4.0, 180.0
# Of a dead element's heat nothing shows, and of a sound one's all, but for what model and supply are off.
# After a fall a charge may be in: with a dead element the reading then goes on falling away, or keeps.
# Charges of up to 1 kg in 30 ovens of another build hid it for a minute at most; half a minute is enough
# where nothing fell.
_NONE, _NONE_S, _FALLEN_NONE, _FALLEN_NONE_S = 0.25, 20.0, 0.1, 60.0
# A fall is more than so much of what the heat should have lifted it by since; it is remembered for so long.
_FELL, _FELL_K, _FELL_S = 0.3, 1.0, 120.0
# Of half an element's heat a half shows, for good; a charge hides less and less.
_HALF, _HALF_S, _FALLEN_HALF_S = 0.6, 90.0, 240.0
# A charge so heavy that the reading has fallen by more than the heat since could have lifted it may take all
# of it: for so many seconds of full heat.
_HEAVY_S = 300.0
# More than this of the heated course: all is well so far.
_KEEPS_UP = 0.75


class _Mean(NamedTuple):
    """Ten seconds: how far the reading and the heated course lie above the unheated one, in K."""

    age_s: float
    above_k: float
    due_k: float
    flowed_s: float


_BEGINS = _Mean(0.0, 0.0, 0.0, 0.0)


class HeatShows:
    """Follows an oven with the heat asked and with none; `lacking` while too little shows of what is asked.

    `may_begin` where it follows nothing, or nearly all of it shows: then both courses begin anew.
    """

    def __init__(self, model: OvenModel) -> None:
        self._model = model
        self._means: deque[_Mean] = deque()
        self._since_fall_s = math.inf
        self.drop()

    def drop(self) -> None:
        """Follow no longer."""
        self._since_fall_s = math.inf
        self._forget()

    def _forget(self) -> None:
        self._with: OvenState | None = None
        self._without: OvenState | None = None
        self._highest = _BEGINS
        self._age_s = self._flowed_s = self._above = self._due = self._span_s = 0.0
        self._none_s = self._half_s = 0.0
        self.lacking, self.may_begin = False, True
        self._means.clear()

    def begin(self, before: Kept, age_s: float, flowed_s: float, ambient_c: float) -> None:
        """Follow from what was believed of the oven a while ago; it is at `age_s` now."""
        self._forget()
        span_s = age_s - before.age_s
        heat = (flowed_s - before.flowed_s) / span_s if span_s > 0.0 else 0.0
        self._with = advance(self._model, before.state, heat, ambient_c, span_s)
        self._without = advance(self._model, before.state, 0.0, ambient_c, span_s)
        self._age_s, self._flowed_s = span_s, heat * span_s
        self._means.append(_BEGINS)
        self.may_begin = False

    def step(self, process_c: float, heat: float, ambient_c: float, dt_s: float) -> None:
        """Take a reading in degC and the heat (0..1) asked since the last one."""
        if self._with is None or self._without is None:
            return
        self._with = heated = advance(self._model, self._with, heat, ambient_c, dt_s)
        self._without = without = advance(self._model, self._without, 0.0, ambient_c, dt_s)
        self._age_s += dt_s
        self._flowed_s += heat * dt_s
        self._above += (process_c - without.junction_c) * dt_s
        self._due += (heated.junction_c - without.junction_c) * dt_s
        self._span_s += dt_s
        if self._span_s >= _MEAN_S:
            span_s = self._span_s
            self._judge(_Mean(self._age_s, self._above / span_s, self._due / span_s, self._flowed_s), span_s)
            self._above = self._due = self._span_s = 0.0

    def _judge(self, now: _Mean, span_s: float) -> None:
        """Judge ten seconds."""
        if now.above_k >= self._highest.above_k:
            self._highest = now
        fell_k, could_k = self._highest.above_k - now.above_k, now.due_k - self._highest.due_k
        fell = fell_k > _FELL * could_k + _FELL_K
        self._since_fall_s = 0.0 if fell else self._since_fall_s + span_s
        lately, ever = self._since_fall_s < _FELL_S, self._since_fall_s < math.inf
        heavy = fell_k > could_k and now.flowed_s - self._highest.flowed_s < _HEAVY_S
        share = self._share(now)
        none = not heavy and share <= (_FALLEN_NONE if lately else _NONE)
        self._none_s = self._none_s + span_s if none else 0.0
        self._half_s = self._half_s + span_s if not heavy and share <= _HALF else 0.0
        none_s, half_s = _FALLEN_NONE_S if lately else _NONE_S, _FALLEN_HALF_S if ever else _HALF_S
        self.lacking = self._none_s > none_s or self._half_s > half_s
        self.may_begin = now.above_k >= _KEEPS_UP * now.due_k - _FELL_K

    def _share(self, now: _Mean) -> float:
        """Return how much of the heat asked has shown lately; all of it where it is too early to say."""
        means = self._means
        means.append(now)
        while now.age_s - means[0].age_s > _KEPT_S:
            means.popleft()
        for then in reversed(means):
            due_k = now.due_k - then.due_k
            if now.age_s - then.age_s >= _SPAN_S and due_k >= _SHOWN_K:
                return (now.above_k - then.above_k) / due_k
        return 1.0
