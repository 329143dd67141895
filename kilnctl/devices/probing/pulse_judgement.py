"""What a short pulse of heat has shown: by the sensors, and by the power that was drawn."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf

from kilnctl.devices.probing.cures import STILL_K
from kilnctl.devices.probing.diagnoses import Diagnosis

FALLS_K = 2.7  # a sensor that settles from a hand falls by less
# What an oven's own sensor may show of a short pulse, as a share of what its learned model says: sound ones
# showed 0.97 to 1.02 of it.
PULSE_SHARE_LEARNED = (0.6, 1.4)
# Of one whose heat-up the maker timed, sound ones in sight of their elements showed 0.3 to 2.2, most of them
# 0.65 to 1.7; in sight of lamps up to 7.3 (tests/bench/control/judges/pulses.py).
PULSE_SHARE_TIMED, PULSE_SHARE_USUAL = (0.25, 8.0), (0.65, 2.6)
# Of one of which nothing is known its walls say nothing: of 340 invented ovens none rose by more than 112 K.
PULSE_MOST_K = 150.0
# An element is good to +5 and -10 % (IEC 60335-1, from memory), the mains to 10 % (EN 50160), power to twice
# that.
DRAWS = (0.72, 1.3)

TOO_LITTLE = (
    "Is part of the element dead, or the supply low? A meter at the plug tells: it must show the power of "
    "the file. If it does, are `measured` and `elements` right?"
)
TOO_MUCH = (
    "First see whether the module is set to the sensor's type, then look at unit and scale. If they are "
    "right, are `measured` and `elements`? A learned oven: has it changed?"
)
NO_FEEDBACK = "The feedback shows no power at the element"


@dataclass(frozen=True, slots=True)
class PulseDue:
    """What a pulse must show: `least_k` to `most_k`, or it has failed; beyond `usual_k` it is a doubt.

    `expected_k` is what the model says, None where nobody knows this oven; `by` whose word that is.
    """

    least_k: float
    most_k: float
    expected_k: float | None = None
    usual_k: tuple[float, float] = (0.0, inf)
    by: str = ""

    @property
    def words(self) -> str:
        """Say what was expected."""
        if self.expected_k is None:
            return f"{self.least_k:.1f} K at least were expected"
        return f"{self.expected_k:.1f} K were expected{self.by}"


def judge_pulse(
    heated: str, rises_k: Mapping[str, float], due: PulseDue, heater_live: bool | None = None
) -> Diagnosis:
    """Judge a short pulse of heat from cold: only the heated oven's own sensor may rise, as much as is due.

    `rises_k` maps each oven's name to the rise of its process sensor.
    """
    own_k = rises_k[heated]
    others = {name: rise for name, rise in rises_k.items() if name != heated and rise > STILL_K}
    if others:
        name, rise = max(others.items(), key=lambda item: item[1])
        return Diagnosis("crossed", False, _crossed(heated, name, own_k, rise))
    if own_k < -FALLS_K:  # a sensor that only settles falls too, by less
        say = f"The sensor of {heated} fell by {-own_k:.1f} K while it was heated: it was still settling, or"
        hint = "Warm it by hand: if it goes down then too, swap them at the instrument, nowhere else."
        return Diagnosis("reversed", False, f"{say} its two leads are swapped. {hint}")
    if own_k < STILL_K or (own_k < due.least_k and due.expected_k is None):
        return Diagnosis("no heat", False, _no_heat(heated, own_k, due, heater_live))
    rose = f"{heated} rose by {own_k:.1f} K"
    if own_k < due.least_k:
        return Diagnosis("little heat", False, f"{rose}; {due.words}. {TOO_LITTLE}")
    if own_k > due.most_k:
        return Diagnosis("too much heat", False, f"{rose}; {due.most_k:.0f} K at most pass. {TOO_MUCH}")
    others_said = "nobody else did" if len(rises_k) > 1 else "no other oven was watched"
    said = f"{rose} ({due.words}), {others_said}."
    low_k, high_k = due.usual_k
    doubt = f" That is little. {TOO_LITTLE}" if own_k < low_k else f" That is much. {TOO_MUCH}"
    return Diagnosis("pulse", True, said if low_k <= own_k <= high_k else f"{said}{doubt}")


def judge_power(drawn_w: float, power_w: float) -> Diagnosis:
    """Judge what a heater drew in the pulse, by a meter, against the file."""
    said = f"the heater drew {drawn_w:.0f} W, the file says {power_w:.0f} W"
    if drawn_w < DRAWS[0] * power_w:
        why = "part of the element is dead, the supply is too low, or power in the file is wrong"
        return Diagnosis("little power", False, f"{said}: {why}")
    if drawn_w > DRAWS[1] * power_w:
        why = "the supply is too high, it is another element, or power in the file is wrong"
        return Diagnosis("much power", False, f"{said}: {why}")
    return Diagnosis("power", True, said)


def _crossed(heated: str, name: str, own_k: float, rise_k: float) -> str:
    said = f"{heated} was heated, but the sensor of {name} rose by {rise_k:.1f} K"
    if own_k > STILL_K:
        return f"{said} too: both heaters are driven, or one sensor is wired to two channels."
    return (
        f"{said}: the sensors or the heaters of the two are crossed. See whose element is warm: "
        "if it is that of the oven you heated, swap the sensors, otherwise the heaters."
    )


def _no_heat(heated: str, own_k: float, due: PulseDue, heater_live: bool | None) -> str:
    said = f"{heated} rose by {own_k:.1f} K; {due.words}."
    if due.expected_k is not None and due.expected_k < STILL_K:
        said = f"{heated} was heated."
    if heater_live is False:
        return (
            f"{said} {NO_FEEDBACK}: relay, fuse, door switch or coil number; or "
            "the element is wired to the relay's normally closed contact."
        )
    if heater_live:
        return (
            f"{said} The element has power: the sensor is not in the chamber, or is wired to another channel."
        )
    return f"{said} No power at the element (coil number off by one?), or the sensor is not in the chamber."
