"""Honest names: the cooling decides whether it was a normalise, and hot minutes are summed."""

from collections.abc import Iterable
from dataclasses import dataclass

from kilnctl.treatment.steel.steels import Steel

FROM_C, TO_C = 700.0, 500.0
NETWORK_CARBON = 0.8
NEARLY_DISSOLVED_K = 10.0
# A 12 mm plate cools at about 1 degC/s in still air; slower than a third of that is no air cool (computed).
AIR_COOL_C_PER_S = 0.3
FULL_ANNEAL_C_PER_S = 28.0 / 3600.0


def rate_700_500(curve: Iterable[tuple[float, float]]) -> float | None:
    """Return the mean cooling rate in degC/s from 700 to 500 degC of a curve of (seconds, degC).

    The last passage counts, as the last heat decides; None where the curve never passes both.
    """
    above: tuple[float, float] | None = None
    left_s: float | None = None
    rate: float | None = None
    for at_s, at_c in curve:
        if at_c >= FROM_C:
            above, left_s = (at_s, at_c), None
        elif above is not None and left_s is None:
            left_s = above[0] + (at_s - above[0]) * (above[1] - FROM_C) / (above[1] - at_c)
        if left_s is not None and at_c <= TO_C:
            rate = (FROM_C - TO_C) / (at_s - left_s) if at_s > left_s else None
            above, left_s = None, None
    return rate


# Continuous cooling of eutectoid steel: all martensite from 140 degC/s, none below 35 (Callister, Materials
# Science and Engineering, from memory). Alloyed grades need less, hyper-eutectoid ones of fine grain more.
# Thin blades in still air come to about 5 degC/s (2 mm, computed); above it a low-alloy steel may harden.
FASTER_THAN_AIR_C_PER_S = 5.0
ALL_MARTENSITE_C_PER_S, NO_MARTENSITE_C_PER_S = 140.0, 35.0


# An air-hardening grade is soft only after its anneal's own slow cooling: its card's, else the usual one.
HARDENS_IN_AIR = ("high alloy", "stainless")
ANNEAL_SLACK = 1.25


@dataclass(frozen=True, slots=True)
class Named:
    """What a cooling made, in the words of the trade, and the warning that goes with it."""

    name: str
    warning: str = ""


def name_cooling(rate_c_per_s: float, steel: Steel | None, from_c: float = 870.0) -> Named:
    """Return the honest name of a cooling through 700 to 500 degC after a heat at `from_c`."""
    if rate_c_per_s >= AIR_COOL_C_PER_S:
        return Named(f"normalised ({rate_c_per_s:.1f} °C/s from 700 to 500 °C)")
    slow = f"{rate_c_per_s * 3600:.0f} °C/h from 700 to 500 °C"
    if steel is not None and steel.kind in HARDENS_IN_AIR:
        slowest_c_per_h = anneal_c_per_h(steel)
        if rate_c_per_s * 3600.0 > ANNEAL_SLACK * slowest_c_per_h:
            return Named(
                f"no anneal: {steel.grade} hardens in air ({slow})",
                f"it comes out hard or half hard: an anneal cools at {slowest_c_per_h:.0f} °C/h at most",
            )
    name = (
        "full anneal" if rate_c_per_s <= FULL_ANNEAL_C_PER_S else "furnace cooled, not normalised: an anneal"
    )
    return Named(f"{name} ({slow})", network_warning(steel, from_c))


def anneal_c_per_h(steel: Steel) -> float:
    """Return the fastest cooling that a source calls an anneal of the grade."""
    rates = [anneal.rate_c_per_h for anneal in steel.anneal if anneal.rate_c_per_h is not None]
    return max(rates, default=FULL_ANNEAL_C_PER_S * 3600.0)


def name_any_cooling(rate_c_per_s: float, steel: Steel | None, from_c: float) -> Named:
    """Return the honest name of a cooling that may have been a quench too."""
    said = f"({rate_c_per_s:.0f} °C/s from 700 to 500 °C)"
    if steel is not None and steel.kind != "plain carbon":
        return _alloyed(rate_c_per_s, steel, from_c, said)
    if rate_c_per_s >= ALL_MARTENSITE_C_PER_S:
        return Named(f"quenched: fast enough for martensite all through {said}")
    if rate_c_per_s >= NO_MARTENSITE_C_PER_S:
        return Named(f"slack quenched: martensite and pearlite {said}", "soft spots; harden again, faster")
    return name_cooling(rate_c_per_s, steel, from_c)


def _alloyed(rate_c_per_s: float, steel: Steel, from_c: float, rate: str) -> Named:
    """Return the name of a cooling of an alloyed grade: it hardens at slower rates, not known here."""
    if rate_c_per_s >= AIR_COOL_C_PER_S and steel.kind in HARDENS_IN_AIR:
        return Named(f"hardened: {steel.grade} hardens in air {rate}")
    if rate_c_per_s >= NO_MARTENSITE_C_PER_S:
        return Named(f"quenched {rate}", f"what {steel.grade} needs is not known here: try it with a file")
    if rate_c_per_s >= FASTER_THAN_AIR_C_PER_S:
        return Named(
            f"between an air cool and a quench {rate}",
            f"{steel.grade} hardens in oil, so partly or wholly at this rate: try it with a file",
        )
    named = name_cooling(rate_c_per_s, steel, from_c)
    if rate_c_per_s < AIR_COOL_C_PER_S:
        return named
    return Named(named.name, f"{steel.grade} may harden partly in air where it is thin: try it with a file")


def network_warning(steel: Steel | None, from_c: float) -> str:
    """Return the warning about a carbide network after a slow cooling, or nothing.

    Carbide comes out along the grain boundaries where the heat had dissolved it; what it left undissolved
    gathers it (common practice, no single source). A card that does not say where all is dissolved is judged
    from 760 degC on; the tables of high-alloy grades are annealed as their cards say.
    """
    if steel is None or steel.carbon <= NETWORK_CARBON or steel.kind in ("high alloy", "stainless"):
        return ""
    gone = steel.point_c("carbide gone")
    if from_c < (760.0 if gone is None else gone[0] - NEARLY_DISSOLVED_K):
        return ""
    return (
        f"{steel.carbon:.2f} % C cooled slowly from {from_c:.0f} °C: "
        "carbide can form a network on the grain boundaries; spheroidise before hardening"
    )


@dataclass(frozen=True, slots=True)
class Exposure:
    """How long a part was hot: seconds above 700 and above 800 degC, to be summed over all its heats."""

    above_700_s: float = 0.0
    above_800_s: float = 0.0

    def __add__(self, other: "Exposure") -> "Exposure":
        """Return both heats together."""
        return Exposure(self.above_700_s + other.above_700_s, self.above_800_s + other.above_800_s)


NO_EXPOSURE = Exposure()


def expose(exposure: Exposure, part_c: float, dt_s: float) -> Exposure:
    """Return the exposure after `dt_s` with the part at `part_c`."""
    if part_c <= 700.0:
        return exposure
    return exposure + Exposure(dt_s, dt_s if part_c > 800.0 else 0.0)


def exposure_note(exposure: Exposure, limit_s: float, protected: bool) -> str:
    """Return the note for a part whose bare time above 800, else 700 degC is over the recipe's limit."""
    if protected or exposure.above_700_s <= limit_s:
        return ""
    hotter = exposure.above_800_s > limit_s
    minutes, limit = (exposure.above_800_s if hotter else exposure.above_700_s) / 60.0, limit_s / 60.0
    allowance = "leave a grinding allowance for scale and soft skin, which begin near 700-750 °C"
    how_much = f"`kilnctl figure skin {815 if hotter else 750}C {minutes:.0f}min` says how much"
    above = f"{minutes:.0f} min bare above {800 if hotter else 700} °C, over {limit:.0f} min"
    return f"{above}: {allowance}; {how_much}"
