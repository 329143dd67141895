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
# Full scale of usual converters (10 to 16 bits, and 27648 of industrial inputs; common practice, no single
# source): a scale that makes a round span of one says how the device writes its range. Typed to five digits.
_FULL_SCALES = (1023, 1024, 4095, 4096, 16383, 16384, 27648, 32767, 32768, 65535, 65536)
_ROUND, _TYPED = 10.0, 2e-5
_SPANS = (50.0, 3000.0)  # degrees, of the inputs that are sold for ovens


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
    if _ROUNDED_K < abs(shift_k) <= CAP_K and not _begins_a_range(place):
        yield f"offset = {place.offset:g} moves the sensor by {shift_k:+.1f} K"
    yield from _stretches(place)


def _stretches(place: Temperature) -> Iterator[str]:
    gain = min((_gain(place.scale / step) for step in _STEPS[place.unit]), key=abs, default=0.0)
    if _EXACT < abs(gain) < _MOST_GAIN and not _spans_a_range(place.scale):
        yield f"scale = {place.scale:g} stretches the sensor by {100.0 * gain:+.2f} %"


def _begins_a_range(place: Temperature) -> bool:
    """True where an offset is where a range begins, such as -10 of -10 to 110: a round one, and a range."""
    whole = min((abs(_gain(place.scale / step)) for step in _STEPS[place.unit]), default=0.0)
    return whole > _EXACT and place.offset % _ROUND == 0.0 and not list(_stretches(place))


def _spans_a_range(scale: float) -> bool:
    """True where a converter's full scale times it is a round span, such as 660 degrees of 65535 counts."""
    spans = [abs(scale) * counts for counts in _FULL_SCALES]
    return any(
        _SPANS[0] <= span <= _SPANS[1] and abs(span - _ROUND * round(span / _ROUND)) <= _TYPED * span
        for span in spans
    )


def _gain(scale: float) -> float:
    """Return by which share a scale differs from the nearest power of ten."""
    size = abs(scale)
    return size / 10.0 ** round(math.log10(size)) - 1.0
