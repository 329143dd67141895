"""An offset or a scale of the oven file that corrects a sensor, and not how its device writes a number.

A device writes degrees, tenths or kelvins, or counts of a range: each moves a reading by far more than a
sensor may be corrected by. What moves it by less is a correction, and rests on no point that anyone judged.
"""

import math
from collections.abc import Iterator

from kilnctl.config.oven import Oven
from kilnctl.config.wiring import Temperature

CAP_K = 10.0  # more than this, and a sensor is replaced, not corrected
SENSORS = ("process", "second", "load", "cold_junction")
# What an offset may say of the device alone, in its unit: 0 °C is 273.15 K and 32 °F (ITS-90).
_ZEROS = {"C": (0.0, -273.15), "F": (0.0, 32.0, -459.67), "mV": (0.0,)}
_ROUNDED_K = 0.2  # -273 for -273.15
_UNIT_K = {"C": 1.0, "F": 5.0 / 9.0, "mV": 1.0 / 0.041}  # type K near room, IEC 60584-1
# Whole tenths of a degree, and of a degree Fahrenheit where the device writes Celsius.
_STEPS = {"C": (1.0,), "F": (1.0, 1.8), "mV": ()}
# A sensor out by more is replaced (10 K at 1000 °C are one per cent); a converter of ten bits is 2.3 % off.
_MOST_GAIN, _EXACT = 0.02, 1e-6


def unjudged(oven: Oven) -> tuple[str, ...]:
    """Return a line for each sensor that the oven file itself corrects; a heat is refused with it."""
    found = []
    for sensor in SENSORS:
        place: Temperature | None = getattr(oven.signal, sensor)
        if place is None:
            continue
        calibrated = "process" if sensor == "cold_junction" else sensor
        cure = (
            "nobody knows from which point: take that out of the oven file, and give what you measured to "
            f"kilnctl care calibrate {oven.name} {calibrated}"
        )
        found += [f"signal.{sensor}.{said}; {cure}" for said in _corrects(place)]
    return tuple(found)


def _corrects(place: Temperature) -> Iterator[str]:
    nearest = min(_ZEROS[place.unit], key=lambda zero: abs(place.offset - zero))
    shift_k = (place.offset - nearest) * _UNIT_K[place.unit]
    if _ROUNDED_K < abs(shift_k) <= CAP_K:
        yield f"offset = {place.offset:g} moves the sensor by {shift_k:+.1f} K"
    gain = min((_gain(place.scale / step) for step in _STEPS[place.unit]), key=abs, default=0.0)
    if _EXACT < abs(gain) < _MOST_GAIN:
        yield f"scale = {place.scale:g} stretches the sensor by {100.0 * gain:+.2f} %"


def _gain(scale: float) -> float:
    """Return by which share a scale differs from the nearest power of ten."""
    size = abs(scale)
    return size / 10.0 ** round(math.log10(size)) - 1.0
