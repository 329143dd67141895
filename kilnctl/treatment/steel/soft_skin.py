"""How deep a bare part loses carbon at heat, the worst that air can do, and how much of it turns to scale.

c(x) = c0 erf(x / (2 sqrt(D t))), the solution for a thick body (Callister, Materials Science and Engineering,
5.4: worked example 5.2). D lies between two published forms: Callister's table 5.2 for little carbon, and
Agren's for the carbon of the steel (Scripta Metallurgica 20, 1986, 1507; constants as four public codes that
cite him have them), which is two to three times as quick.

Scale: parabolic, x^2 = k t with k = 6.1 exp(-20 380 K / T) cm2/s on iron in free air (Paidassi 1958, as a
review of the oxidation of iron prints it, from memory): the most. A shut furnace that lacks air makes less,
chromium steel far less; our own lower end is half.
"""

import math

AUSTENITE_FROM_C = 727.0
_GAS, _KELVIN = 8.314, 273.15
_SLOW_M2_PER_S, _SLOW_J_PER_MOL = 2.3e-5, 148_000.0
_FE_TO_C = 55.845 / 12.011
# A steel of more carbon is as hard: the hardness as quenched is flat above it (Hodge and Orehoski's curve of
# 1946, from memory).
FULLY_HARD_PERCENT_C = 0.6
TOUCHED = 0.9  # of its carbon: where grinding may stop; our own choice, no source


SCALE_SOURCE = "scale on iron in free air, Paidassi 1958 (from memory), and half of it"
LEAST_SCALE = 0.5
# One volume of iron becomes 1.77 of wustite, by their densities of 7.87 and 5.7 kg/L (from memory).
WUSTITE_PER_IRON = 1.77


def slow_m2_per_s(at_c: float) -> float:
    """Return the diffusivity of a little carbon in austenite, m2/s (Callister, table 5.2)."""
    return _SLOW_M2_PER_S * math.exp(-_SLOW_J_PER_MOL / (_GAS * (at_c + _KELVIN)))


def quick_m2_per_s(at_c: float, carbon_percent: float) -> float:
    """Return the diffusivity at the steel's own carbon, m2/s (Agren 1986)."""
    kelvin = at_c + _KELVIN
    y = carbon_percent / (100.0 - carbon_percent) * _FE_TO_C  # carbon atoms for each of iron
    spread = 1.0 + y * (1.0 - y) * 8339.9 / kelvin
    return 4.53e-7 * spread * math.exp(-(1.0 / kelvin - 2.221e-4) * (17767.0 - 26436.0 * y))


def depth_mm(share: float, diffusivity_m2_per_s: float, time_s: float) -> float:
    """Return how deep below the surface the carbon is down to a share of its content, mm."""
    low, high = 0.0, 4.0
    for _ in range(60):  # erf rises from 0 to 1; halving is exact enough after thirty steps
        middle = (low + high) / 2
        low, high = (middle, high) if math.erf(middle) < share else (low, middle)
    return 2000.0 * low * math.sqrt(diffusivity_m2_per_s * time_s)


def skin_mm(at_c: float, time_s: float, carbon_percent: float, share: float) -> tuple[float, float]:
    """Return the least and the most depth of a share of the carbon after a bare heat, mm."""
    slow, quick = slow_m2_per_s(at_c), quick_m2_per_s(at_c, carbon_percent)
    return depth_mm(share, slow, time_s), depth_mm(share, quick, time_s)


def scale_mm(at_c: float, time_s: float) -> float:
    """Return how thick the scale on bare iron gets at the most, mm, at 700 to 1250 degC."""
    cm2_per_s = 6.1 * math.exp(-20_380.0 / (at_c + 273.15))
    return 10.0 * math.sqrt(cm2_per_s * time_s)


def lost_mm(at_c: float, time_s: float) -> tuple[float, float]:
    """Return how much iron is lost from each face, from least to most, mm."""
    most = scale_mm(at_c, time_s) / WUSTITE_PER_IRON
    return LEAST_SCALE * most, most
