"""From the sensor's true temperature to the count in the register: converter, noise, and what goes wrong."""

import math
import random
from functools import cache

from simulator.boards.fault_state import Flaws
from simulator.boards.thermocouple_faults import shown_c

OPEN = 32767
TERMINAL_RISE_K = 5.0
MOVE_S = 12.0  # time constant of a sensor that has fallen out
SPIKE_K = 50.0


@cache
def noise_table() -> tuple[float, ...]:
    """Return 8191 normal deviates, drawn once; boards start at different places in it."""
    draw = random.Random(20261125)
    return tuple(draw.gauss(0.0, 1.0) for _ in range(8191))


def _out(flaws: Flaws, at_h: float) -> float:
    """Return how far (0..1) the reading of a couple that creeps out lies towards the terminals."""
    half = min(at_h * 60.0 / flaws.half_out_min, 1.0) * 0.5 if flaws.half_out_min else 0.0
    slips = min(at_h * 60.0 / flaws.slips_min, 1.0) * 0.15 if flaws.slips_min else 0.0
    return max(half, slips)


class Converter:
    """The sensor module: one conversion each half second, int16 counts of 0.1 degC, open is 32767."""

    __slots__ = (
        "_draw",
        "_moved_c",
        "_noise",
        "_noise_at",
        "_resolution_k",
        "_second",
        "_second_c",
        "_sigma_k",
        "count",
        "counter",
    )

    def __init__(self, seed: int, sigma_k: float, resolution_k: float, start_c: float) -> None:
        self._draw = random.Random(f"converter {seed}")
        self._noise = noise_table()
        self._noise_at = self._draw.randrange(8191)
        self._sigma_k = sigma_k
        self._resolution_k = resolution_k
        self._moved_c: float | None = None
        self.counter = 0
        self._second_c, self._second = start_c, None  # type: float, int | None
        self.count = self._counts(start_c)

    @property
    def second(self) -> int:
        """Return the second sensor's count; few ovens have one, so it is reckoned when it is asked for."""
        if self._second is None:
            self._second = self._counts(self._second_c)
        return self._second

    def _counts(self, value_c: float) -> int:
        return round(round(value_c / self._resolution_k) * self._resolution_k * 10.0)

    def convert(self, true_c: float) -> None:
        """Make one sound conversion of both sensors."""
        at = (self._noise_at + 2) % 8190
        self._noise_at = at
        self.counter = (self.counter + 1) & 0xFFFF
        step = self._resolution_k
        sigma = self._sigma_k
        self.count = round(round((true_c + sigma * self._noise[at]) / step) * step * 10.0)
        self._second_c, self._second = true_c + sigma * self._noise[at + 1], None
        self._moved_c = None

    def convert_flawed(self, true_c: float, ambient_c: float, flaws: Flaws, at_h: float, dt_s: float) -> None:
        """Make one conversion with everything that is wrong. `at_h` hours since a drift began."""
        if flaws.sensor == "hung":
            return
        held = self.count
        moved_c = self._move(true_c, flaws, dt_s)
        self.convert(true_c)
        self._moved_c = moved_c
        self._second = OPEN if flaws.second_open else self.second + round(flaws.second_k * 10)
        if flaws.sensor == "frozen":
            self.count = held
        elif flaws.sensor == "open":
            self.count = OPEN
        else:
            self.count = self._wrong(true_c, ambient_c + TERMINAL_RISE_K, flaws, at_h)

    def _move(self, true_c: float, flaws: Flaws, dt_s: float) -> float | None:
        if flaws.sensor != "displaced":
            return None
        was = true_c if self._moved_c is None else self._moved_c
        return was + (flaws.displaced_c - was) * (1.0 - math.exp(-dt_s / MOVE_S))

    def _wrong(self, true_c: float, terminal_c: float, flaws: Flaws, at_h: float) -> int:
        seen = true_c if self._moved_c is None else self._moved_c
        seen = terminal_c if flaws.sensor == "short" else seen
        seen += _out(flaws, at_h) * (terminal_c - seen)
        if flaws.couple:
            seen = shown_c(flaws.couple, seen, terminal_c, flaws.head_c)
        seen += flaws.junction_k - (terminal_c if flaws.junction_dead else 0.0)
        seen = seen * flaws.gain + flaws.bias_k + flaws.drift_k_per_h * at_h
        seen += math.hypot(self._sigma_k, flaws.noise_k) * self._draw.gauss(0.0, 1.0)
        if flaws.spike_share and self._draw.random() < flaws.spike_share:
            seen += self._draw.choice((-SPIKE_K, SPIKE_K))
        if flaws.unit:
            seen = seen * 1.8 + 32.0 if flaws.unit == "fahrenheit" else (seen - 32.0) / 1.8
        wire = self._counts(seen * flaws.scale) & 0xFFFF
        return wire - 0x10000 if wire >= 0x8000 else wire
