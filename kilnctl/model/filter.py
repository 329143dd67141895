"""Where the oven stands, judged from its model and its noisy sensor: an extended Kalman filter (textbook).

The mean runs through the model in every tick; covariance and correction follow every few seconds with the
mean of the innovations seen meanwhile, which costs little and averages the noise.
"""

import math

import numpy as np

from kilnctl.model.linear import NODES, Matrix, passed_on
from kilnctl.model.oven_model import OvenModel, OvenState, advance, at_rest, sensor_lag_s
from kilnctl.model.physical_bounds import is_an_ovens, within, within_physics
from kilnctl.model.recent_estimates import Belief, Beliefs, Read
from kilnctl.model.trust import Trust

_ELEMENT, _FACE, _SHEATH, _JUNCTION = 0, 1, 7, 8
# The scale factors of a heat, as `logs` holds them.
_LAG, _POWER = 0, 1
# Random walk of the sheath while cold air blows on it, K per square root of a second.
_SHAKEN_K = 8.0
# It does so for this many lags of the sensor, and never shorter than this.
_SHAKEN_LAGS = 1.0
_SHAKEN_S = 40.0
# Nearer to the room than this an oven is cold: all of it within so much of what the sensor says. A kelvin
# was worth 0.23 in the logarithm of a heavy oven's sensor lag, by whether it was watched before the heat.
_COLD_K = 8.0
_COLD_SD_K = 0.3
# Cold air from a door: how cold it may be at the sensor, how fast the chamber warms it again, and how long
# after the door a surprise is put down to it rather than to the oven (measured on invented ovens).
_DRAUGHT_SD_K = 60.0
_BLOWN_S = 35.0
# For so long after it cold air would pass for a quicker sensor: nothing is learned of this heat's factors.
_DOUBTED_S = 300.0
DRAUGHT_S = 15.0
_MOST_UNKNOWN = 1.5
# Where no door has disturbed a learned oven, it is no more than this. A slow sensor's sag was taken for 0.6
# of full power that was missing, and full heat for it passed the goal by 10 K.
_USUAL_UNKNOWN = 0.4
# The noise of this heat's readings is their scatter within an interval, averaged over so long.
_NOISE_S = 60.0
_SPIKE_SDS = 4.0
# What the readings of one interval err by together, K^2: no model is better than a tenth of a kelvin.
_TOGETHER_K2 = 0.01
# From cold, a sensor that has risen by less has shown little: until then only the temperatures are corrected,
# not what was learned. Where an oven's own bias is known (`usual`), by a quarter of the way to it at most.
# A sound oven surprises by 1.2 at most meanwhile, half as slow a sensor included, a furnace behind a small
# oven's file by 8.
_SILENT_K, _SILENT_WAY, _ANOTHER = 40.0, 0.25, 2.0
# A mass is never colder than the room, but for what room and file may differ; no load is hotter than what
# heats it.
_COLDER_K = 15.0
# After a gap this long (a suspend) the state is unknown again.
LOST_S = 60.0


class OvenFilter:
    """Kalman filter over nine temperatures, three scale factors, cold air and one unknown heat flow.

    `count_k` is the smallest step that the sensor's module shows. Readings within one count err together, so
    their mean is no better than a count's own deviation, count / sqrt(12) (the uniform one of rounding).
    """

    def __init__(self, model: OvenModel, trust: Trust, count_k: float = 0.0) -> None:
        self.base, self.trust, self._interval_s = model, trust, trust.interval_s
        self._together_k2 = max(_TOGETHER_K2, count_k**2 / 12.0)
        self._noise_k2 = model.noise_k**2
        self._misfits_k2 = np.array(trust.misfits_k2(model.misfit_k))
        self.model = model
        self.logs = [0.0, 0.0, 0.0]
        self.unknown = self.draught_k = 0.0
        self.state: OvenState | None = None
        self.surprise, self.jump, self.off_k = 1.0, 0.0, 0.0
        self.age_s = 0.0
        self.cold = self.diverged = False
        self._silent_below_c = -math.inf
        self._frozen_sd: tuple[float, float, float] | None = None
        self._free = [i for i, sd in enumerate((trust.lag_sd, trust.power_sd, trust.load_sd)) if sd > 0]
        self._n = NODES + len(self._free) + trust.draught + 1
        self._p: Matrix = np.zeros((self._n, self._n))
        self._stays: Matrix = np.eye(self._n)
        self._walk = self._p
        self._heat_s = self._span_s = self._shaken_s = self._blown_s = self._doubted_s = 0.0
        self._offs_k: list[float] = []
        self.flowed_s, self._beliefs = 0.0, Beliefs()
        # What the unknown heat may be while a door's cold air may pass for it; None: as usual.
        self.bounds: tuple[float, float] | None = None
        self.set_unknown_rate(trust.unknown_rate)

    def set_unknown_rate(self, unknown_rate: float) -> None:
        """Let the unknown heat move at this rate from now on."""
        walk = np.zeros(self._n)
        walk[:NODES] = self.trust.wanders_k2(self.base.misfit_k if self._frozen_sd is not None else 0.0)
        walk[NODES - 2 : NODES] *= 0.1
        walk[-1] = unknown_rate**2
        self._walk = np.diag(walk)

    def start(self, process_c: float, ambient_c: float) -> None:
        """Begin at a reading: a cold oven is at one temperature, a hot one graded and uncertain."""
        self.cold = cold = abs(process_c - ambient_c) < _COLD_K
        self.state = at_rest(process_c, None if cold else ambient_c)
        silent = cold and self.base.learned and not self.trust.in_element
        self._silent_below_c = process_c + self._silent_k(process_c) if silent else -math.inf
        spread = _COLD_SD_K if cold else 0.15 * abs(process_c - ambient_c)
        trust = self.trust
        sds = [spread] * 7 + ([spread] * 2 if cold else [0.5 + spread * 0.1, 0.5])
        sds += [(trust.lag_sd, trust.power_sd, trust.load_sd)[i] for i in self._free]
        sds += [0.0] * trust.draught + [trust.unknown_sd]
        self._p = np.diag(np.square(sds))

    def _silent_k(self, process_c: float) -> float:
        usual = self.base.usual
        return _SILENT_K if usual is None else min(_SILENT_K, _SILENT_WAY * (usual.at_c - process_c))

    def step(self, process_c: float, heat: float, ambient_c: float, dt_s: float) -> OvenState:
        """Take one reading and the heat (0..1) that flowed since the last; return the state now."""
        if self.state is None or dt_s > LOST_S:
            self.start(process_c, ambient_c)
            dt_s = min(dt_s, 1.0)
        assert self.state is not None
        self.state = self._moved(self.model, self.state, heat, ambient_c, dt_s, self.unknown, self.draught_k)
        if self.draught_k:
            self.draught_k *= math.exp(-dt_s / DRAUGHT_S)
        self._offs_k.append(process_c - self.state.junction_c)
        self._heat_s += heat * dt_s
        self.flowed_s += heat * dt_s
        self._span_s += dt_s
        self.age_s += dt_s
        self._beliefs.read(Read(self.age_s, process_c, heat, dt_s))
        if self._span_s >= self._interval_s:
            self._correct(ambient_c)
            kept = self.state, self._p, self.logs[:], self.unknown, self.surprise
            self._beliefs.keep(Belief(self.age_s, self.flowed_s, *kept))
            if not is_an_ovens(self.state):
                self._begin_again(process_c, ambient_c)
        return self.state

    def _begin_again(self, process_c: float, ambient_c: float) -> None:
        """Forget an estimate that is no oven's, and say so: readings that no oven gives lead there."""
        self.diverged = True
        self.logs, self.model = [0.0, 0.0, 0.0], self.base
        self.unknown = self.draught_k = 0.0
        self.start(process_c, ambient_c)

    def sd(self, index: int) -> float:
        """Return the standard deviation of one estimated quantity (-1: the unknown heat)."""
        return math.sqrt(max(float(self._p[index, index]), 0.0))

    def scale(self) -> tuple[float, float, float]:
        """Return this heat's factors on sensor lag, power and load."""
        lag, power, load = (math.exp(x) for x in self.logs)
        return lag, power, load

    def scale_sd(self, which: int) -> float:
        """Return the standard deviation of the logarithm of one factor (0 lag, 1 power, 2 load)."""
        return self.sd(NODES + self._free.index(which)) if which in self._free else 0.0

    @property
    def learnt_sd(self) -> tuple[float, float, float]:
        """Return the standard deviations of the three factors' logarithms, as they were before a freeze."""
        if self._frozen_sd is not None:
            return self._frozen_sd
        return self.scale_sd(0), self.scale_sd(1), self.scale_sd(2)

    def freeze(self, sd: float = 0.01) -> None:
        """Hold the scale factors from now on: after arrival they would only follow noise."""
        if self._frozen_sd is None:
            self._frozen_sd = self.learnt_sd
        for i in range(NODES, NODES + len(self._free)):
            factor = min(1.0, sd / max(self.sd(i), 1e-9))
            self._p[i, :] *= factor
            self._p[:, i] *= factor

    def take_back(self) -> list[Read]:
        """Believe again what was believed some seconds ago; return what was read since, to be read again.

        Where no switch tells of a door, its cold air passes for a colder oven until it is known.
        """
        was, since = self._beliefs.take_back()
        if was is None:
            return since
        self.logs, self.unknown, self.surprise, self._p = was.logs, was.unknown, was.surprise, was.p.copy()
        self.model, self.state, self.draught_k = self._scaled(was.logs), was.state, 0.0
        self.age_s, self.flowed_s = was.age_s, was.flowed_s
        self._offs_k, self._heat_s, self._span_s = [], 0.0, 0.0
        return since

    @property
    def shaken(self) -> bool:
        """True while cold air may still blow on the sensor."""
        return self._shaken_s > 0

    def shake(self, unknown_sd: float) -> None:
        """Take note that something has happened that no model knows: a door, a cold charge.

        Cold air strikes the sensor long before the chamber has changed, so what the sensor says is put down
        to that air first, or without `draught` for some of its lags to the sensor alone; and the unknown
        heat may have jumped by `unknown_sd`.
        """
        self._p[-1, -1] += unknown_sd**2
        self._doubted_s = _DOUBTED_S
        if self.trust.draught:
            self._p[-2, -2] = max(self._p[-2, -2], _DRAUGHT_SD_K**2)
            self._blown_s = _BLOWN_S
        if self.state is not None:
            lag_s = sensor_lag_s(self.model, self.state.junction_c)
            self._shaken_s = max(_SHAKEN_S, _SHAKEN_LAGS * lag_s)

    def _correct(self, ambient_c: float) -> None:
        state, span_s = self.state, self._span_s
        assert state is not None
        sensor_only = self._shaken_s > 0 and not self.trust.draught
        self._shaken_s -= span_s
        self._blown_s -= span_s
        self._doubted_s -= span_s
        if sensor_only:
            # Before the step, so that it reaches the junction in the same span.
            self._p[_SHEATH, _SHEATH] += _SHAKEN_K**2 * span_s
        step = self._linear(state, self._heat_s / span_s, ambient_c, span_s)
        p = step @ self._p @ step.T + self._walk * span_s
        off_k, noise = self._heard(span_s)
        expected = float(p[_JUNCTION, _JUNCTION]) + noise
        if self._blown_s > 0 and off_k * off_k > expected:
            p = _blown(p, step[:, -2], off_k * off_k - expected)
            expected = float(p[_JUNCTION, _JUNCTION]) + noise
        gain = p[:, _JUNCTION] / expected
        if sensor_only:
            # Only the sensor's own states are corrected; the rest is considered, not estimated.
            gain[:_SHEATH] = gain[NODES:] = 0.0
        elif self._silent(state.junction_c):
            gain[NODES:] = 0.0
        elif self._doubted_s > 0:
            gain[NODES : NODES + len(self._free)] = 0.0
        else:
            gain[NODES:] *= expected / (expected + self._misfits_k2)
        half = 0.5 * p - gain[:, None] * (p[_JUNCTION] - 0.5 * expected * gain)
        self._p = half + half.T
        self._apply(gain * off_k, ambient_c - _COLDER_K)
        self.jump, self.off_k = off_k / math.sqrt(expected), off_k
        self.surprise += (off_k * off_k / expected - self.surprise) * min(1.0, span_s / 120.0)
        self._heat_s = self._span_s = 0.0

    def _silent(self, reads_c: float) -> bool:
        """True until the sensor has moved well, or has shown that this is not what was learned."""
        if reads_c >= self._silent_below_c or self.surprise > _ANOTHER:
            self._silent_below_c = -math.inf
        return math.isfinite(self._silent_below_c)

    def _heard(self, span_s: float) -> tuple[float, float]:
        """Return the mean of an interval's innovations, in K, and its variance.

        The noise of the readings is followed: a new module or a relay nearby may have made it more since the
        oven was learned. A single reading far from the others is a spike, except in the cold air of a door;
        what has really happened stays.
        """
        offs_k, self._offs_k = self._offs_k, []
        count = len(offs_k)
        noise_k2 = max(self.base.noise_k**2, self._noise_k2)
        calm = not self.shaken
        if calm:
            middle_k, most_k = sorted(offs_k)[count // 2], _SPIKE_SDS * math.sqrt(noise_k2)
            low_k, high_k = middle_k - most_k, middle_k + most_k
            offs_k = [within(off_k, low_k, high_k) for off_k in offs_k]
        mean_k = sum(offs_k) / count
        if calm and count > 1:
            scatter_k2 = sum([(off_k - mean_k) ** 2 for off_k in offs_k]) / (count - 1)
            self._noise_k2 += (scatter_k2 - self._noise_k2) * min(1.0, span_s / _NOISE_S)
        return mean_k, noise_k2 / count + self._together_k2

    def _apply(self, change: Matrix, coldest_c: float) -> None:
        values = change.tolist()
        assert self.state is not None
        state = OvenState(*[a + b for a, b in zip(self.state.nodes, values, strict=False)])
        self.state = within_physics(self.state, state, coldest_c)
        most = self._most_unknown
        least, most = (-most, most) if self.bounds is None else self.bounds
        self.unknown = within(self.unknown + values[-1], least, most)
        if self.trust.draught:
            # Air from a door is no colder than the room, and brings no heat.
            coldest_k = min(coldest_c - self.state.face_c, 0.0)
            self.draught_k = within(self.draught_k + values[-2], coldest_k, 0.0)
        if self._free:
            for position, i in enumerate(self._free):
                self.logs[i] = within(self.logs[i] + values[NODES + position], -1.5, 2.5)
            self.model = self._scaled(self.logs)

    @property
    def _most_unknown(self) -> float:
        """Return the most unexplained heat: undisturbed a learned oven has little, or what it had."""
        if self._doubted_s > 0 or self.trust.in_element or not self.base.learned:
            return _MOST_UNKNOWN
        return max(_USUAL_UNKNOWN, self.base.unexplained, abs(self.unknown))

    def _scaled(self, logs: list[float]) -> OvenModel:
        return self.base.scaled(math.exp(logs[0]), math.exp(logs[1]), math.exp(logs[2]))

    def _moved(
        self,
        model: OvenModel,
        state: OvenState,
        heat: float,
        ambient_c: float,
        dt_s: float,
        unknown: float,
        draught_k: float,
    ) -> OvenState:
        if self.trust.in_element:
            return advance(model, state, heat + unknown, ambient_c, dt_s)
        return advance(model, state, heat, ambient_c, dt_s, unknown, draught_k)

    def _linear(self, state: OvenState, heat: float, ambient_c: float, span_s: float) -> Matrix:
        """Return how every estimated quantity passes on to the end of the span; all but the oven stay."""
        later = self._moved(self.model, state, heat, ambient_c, span_s, self.unknown, self.draught_k)
        middle = OvenState(*[(a + b) / 2.0 for a, b in zip(state.nodes, later.nodes, strict=True)])
        drives = self._drives(state, later, heat, span_s)
        passed = self._stays.copy()
        passed[:NODES] = passed_on(self.model, middle, span_s, drives)
        if self.trust.draught:
            passed[-2, -2] = math.exp(-span_s / DRAUGHT_S)
        return passed

    def _drives(self, state: OvenState, later: OvenState, heat: float, span_s: float) -> Matrix:
        """Return what a unit of each quantity beside the temperatures brings to each node in the span.

        A sensor that is slower by a factor, or a load that is heavier, stores so much more of the heat that
        it took; the load's comes out of the face.
        """
        model, drives = self.model, np.zeros((NODES, self._n - NODES))
        in_element = self.trust.in_element
        for place, factor in enumerate(self._free):
            if factor == _LAG:
                drives[_SHEATH, place] = model.sheath_s * (state.sheath_c - later.sheath_c)
                drives[_JUNCTION, place] = model.junction_s * (state.junction_c - later.junction_c)
            elif factor == _POWER:
                drives[_ELEMENT, place] = model.power * (heat + in_element * self.unknown) * span_s
            else:
                drives[_FACE, place] = model.load * (state.load_c - later.load_c)
        if self.trust.draught:
            drives[_SHEATH, -2] = span_s
        if in_element:
            drives[_ELEMENT, -1] = model.power * span_s
        else:
            drives[_FACE, -1] = span_s
        return drives


def _blown(p: Matrix, way: Matrix, surprise: float) -> Matrix:
    """Return the covariance widened along the cold air's way to the sensor, until a surprise (K^2) fits."""
    reach = max(float(way[_JUNCTION]) ** 2, 1e-9)
    return p + min(surprise / reach, _DRAUGHT_SD_K**2) * np.outer(way, way)
