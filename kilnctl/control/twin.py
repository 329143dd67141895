"""Twins: what was learned, run beside an approach in open loop and never corrected by this heat's sensor.

A filter that corrects lag, power, load and unexplained heat from a sensor that has hardly moved can talk a
good model out of its coast: a forecast of 241 degC became 178 while 236 was true, and heat went on. The coast
of a fit in open loop is right within a few kelvin even where its explanation is wrong. So the coast that
counts for the cut is the higher of the filter's and the twins', until the coast is nearly over. What the
readings may change of a twin is one number: how much slower this heat goes than the learned oven.
"""

from collections.abc import Iterable

from kilnctl.model.coast import Outlook
from kilnctl.model.oven_model import FIRST_K, OvenModel, OvenState, advance, sensor_lag_s

# A twin's coast is taken so much longer than it foresees: a few per cent of time for a kelvin or two.
_LONGER = 1.05
# How much slower or quicker than learned a heat can be told to be, and from which rise on it is told.
_SLOWEST, _QUICKEST, _TOLD_FROM_K, _DRAWN_S = 0.3, 1.3, 8.0, 20.0
# A sensor so much slower than learned is drawn beside the twins: what this heat's sensor is found to be later
# by lies between the two.
LATE = 1.5
# From this share of it on, a coast is not over before the late twin's is.
_LATE_ENOUGH = 0.25
# The twin follows in steps of this many seconds, and never faster than this many times the oven.
_EVERY_S, _LONGEST_STEP_S, _AHEAD = 4.0, 20.0, 4
# After the cut it moves in such steps.
_COAST_EVERY_S = 2.0
# A coast has been seen, and the twins are done with, when so much of it is over, when the sensor has hardly
# risen in so long, or after so long.
_SEEN, _STILL_K, _STILL_S, _OVER_S = 0.8, 0.2, 15.0, 600.0


class _Twin:
    """One explanation of the oven."""

    def __init__(self, model: OvenModel, state: OvenState, ambient_c: float) -> None:
        self.model, self.state, self._ambient_c = model, state, ambient_c
        self.spent_s = self.slope = 0.0
        self.told_from_s = 0.0
        self.cut_c = self.peak_c = 0.0

    def move(self, heat: float, dt_s: float) -> None:
        self.state = advance(self.model, self.state, heat, self._ambient_c, dt_s)

    def follow(self, reads_c: float) -> None:
        """Give full heat until the twin reads what the oven reads."""
        for _ in range(_AHEAD):
            before_c = self.state.junction_c
            if before_c >= reads_c:
                return
            wanted_s = (reads_c - before_c) / self.slope if self.slope > 0.0 else _EVERY_S
            dt_s = min(max(wanted_s, 0.5), _LONGEST_STEP_S)
            self.move(1.0, dt_s)
            self.slope = (self.state.junction_c - before_c) / dt_s
            self.spent_s += dt_s

    def coast_k(self, on_s: float) -> float:
        return self.outlook.peak_c(on_s) - self.state.junction_c

    @property
    def coasted(self) -> float:
        """Return how much of the coast that was foreseen at the cut is over (0..1)."""
        return (self.state.junction_c - self.cut_c) / max(self.peak_c - self.cut_c, 0.1)

    @property
    def outlook(self) -> Outlook:
        return Outlook(self.model, self.state, self._ambient_c)


class Twins:
    """The learned oven and its bound beside one approach."""

    def __init__(self, models: Iterable[OvenModel], state: OvenState, ambient_c: float) -> None:
        known = tuple(models)
        self._twins = [_Twin(model, state, ambient_c) for model in known]
        self._late = _Twin(known[0].scaled(lag=LATE), state, ambient_c)
        self._share, self._longer = 0.0, 1.0
        self._began_c, self._heated_s, self._since_s = state.junction_c, 0.0, 0.0
        self._told_from_s: float | None = None
        self._first_late_s = self._lags_s = 0.0
        self._cut_c: float | None = None
        self._coasted_s = self._still_s = self._given_s = 0.0
        self._marked_c = 0.0
        self.over = False

    def heat(self, reads_c: float, dt_s: float) -> None:
        """Take a tick of the approach, in which full heat was asked."""
        self._heated_s += dt_s
        self._since_s += dt_s
        if self._since_s < _EVERY_S or self._cut_c is not None:
            return
        self._since_s = 0.0
        for twin in self._all:
            twin.follow(reads_c)
        if self._lags_s <= 0.0 and reads_c - self._began_c > FIRST_K:
            self._first_late_s = self._heated_s - self._twins[0].spent_s
            self._lags_s = self._late.spent_s - self._twins[0].spent_s
        if self._told_from_s is None and reads_c - self._began_c > _TOLD_FROM_K:
            self._told_from_s = self._heated_s
            for twin in self._all:
                twin.told_from_s = twin.spent_s

    @property
    def late_start(self) -> float:
        """Return how late its sensor is by its first rise beside the learned one, in shares of LATE."""
        if self._lags_s <= 0.0:
            return 0.0
        return (self._first_late_s - (self._twins[0].model.first_late_s or 0.0)) / self._lags_s

    @property
    def _all(self) -> list[_Twin]:
        return [*self._twins, self._late]

    def peak_c(
        self, reads_c: float, on_s: float, share: float = 0.0, doubt: float = 0.0, seen_k: float = 0.0
    ) -> float:
        """Return how high the sensor would coast if the heat went off in on_s seconds.

        `share`: so much of the way from the learned sensor to the late one this heat's sensor is, `doubt` how
        much more it may be. `seen_k`: how far it coasts by what the learning's own pauses have shown.
        """
        self._share = share
        coasts_k = [twin.coast_k(on_s) for twin in self._twins]
        more_k = self._later_k(self._late.coast_k(on_s) - coasts_k[0], share, doubt)
        drawn_k = max(
            self._slower_by(twin) * (coast_k + sum(more_k))
            for twin, coast_k in zip(self._twins, coasts_k, strict=True)
        )
        return reads_c + max(_LONGER * drawn_k, seen_k + more_k[0])

    def _later_k(self, late_k: float, share: float, doubt: float) -> tuple[float, float]:
        """Return how much further a later sensor coasts, as found and as it may be beside that, in K.

        `late_k`: the late twin's word, by where the fit has put the lag (a stone floor's denied any). What a
        sensor is later by while it climbs, it makes good after the cut.
        """
        first = self._twins[0]
        now_c = sensor_lag_s(first.model, first.state.junction_c)
        began_c = sensor_lag_s(first.model, self._began_c + FIRST_K)
        climbs_k = first.slope * self._lags_s * now_c / began_c
        return share * max(late_k, climbs_k), doubt * late_k

    def _slower_by(self, twin: _Twin) -> float:
        """Return the twin's seconds over the oven's for the same rise, drawn towards 1 where they are few."""
        if self._told_from_s is None:
            return 1.0
        own_s = _DRAWN_S + twin.spent_s - twin.told_from_s
        if self._share > 0.0:
            # Part of the twin's seconds goes into the sensor's lag.
            first, late = self._twins[0], self._late
            own_s += self._share * (late.spent_s - late.told_from_s - first.spent_s + first.told_from_s)
        return min(max(own_s / (_DRAWN_S + self._heated_s - self._told_from_s), _SLOWEST), _QUICKEST)

    def cut(self, reads_c: float, share: float = 0.0, doubt: float = 0.0, seen_k: float = 0.0) -> None:
        """Take note that the heat has been cut: from now on nothing that is read moves a twin.

        `share`, `doubt`, `seen_k`: as for `peak_c`.
        """
        self._share = share
        self._cut_c = self._marked_c = reads_c
        self._since_s = 0.0
        for twin in self._all:
            twin.cut_c = twin.state.junction_c
            twin.peak_c = twin.cut_c + twin.coast_k(0.0)
        first_k, late_k = (twin.peak_c - twin.cut_c for twin in (self._twins[0], self._late))
        drawn_k = max(first_k, 0.1)
        found_k, perhaps_k = self._later_k(late_k - drawn_k, share, doubt)
        seen_k = seen_k / (_LONGER * self._slower_by(self._twins[0])) + found_k
        self._longer = max(drawn_k + found_k + perhaps_k, seen_k) / drawn_k

    def coast(self, reads_c: float, heat: float, dt_s: float) -> None:
        """Take a tick after the cut, with the heat (0..1) that flowed in it; sets `over`."""
        self._since_s += dt_s
        self._given_s += heat * dt_s
        if self._since_s < _COAST_EVERY_S:
            return
        for twin in self._all:
            twin.move(self._given_s / self._since_s, self._since_s)
        self._coasted_s += self._since_s
        self._still_s += self._since_s
        self._since_s = self._given_s = 0.0
        if reads_c - self._marked_c > _STILL_K:
            self._marked_c, self._still_s = reads_c, 0.0
        asked = self._all if self._share > _LATE_ENOUGH else self._twins
        seen = all(twin.coasted >= _SEEN for twin in asked)
        self.over = seen or self._still_s > _STILL_S or self._coasted_s > _OVER_S

    def longest_on_s(self, window_s: float, ceiling_c: float) -> float:
        """Return how long full heat may stay on so that no twin's coast passes a ceiling."""
        assert self._cut_c is not None
        room_k = (ceiling_c - self._cut_c) / self._longer
        return min(
            twin.outlook.longest_on_s(window_s, twin.cut_c + room_k / (_LONGER * self._slower_by(twin)))
            for twin in self._twins
        )
