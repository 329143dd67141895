"""Between oven and bath: how fast a thin place loses its heat, and how hot the oil gets."""

from dataclasses import dataclass

from kilnctl.model import part as parts
from kilnctl.model.steel_heat import SteelHeat, heat_content_j_per_kg
from kilnctl.treatment.steel.steels import Steel

# Between oven and bath austenite has not transformed yet, so there is no peak: gamma iron takes 585 to 595
# J/(kg K) from 760 to 830 degC (Dinsdale 1991, SGTE data for pure elements). EN 1993-1-2 has 650 above 900
# degC, a structural steel's design value: budgets would come out a tenth too long.
AUSTENITE = SteelHeat(590.0)
# Out of the bath it is austenite still: gamma iron takes 490 to 530 J/(kg K) from 200 to 400 degC (Dinsdale
# 1991, SGTE data for pure elements). What turns to martensite gives heat back, which is left out: it slows
# the fall.
COOL_AUSTENITE = SteelHeat(500.0)
OUT_OF_THE_BATH_C = 400.0
QUENCH_FLOOR_C = 760.0
UNKNOWN_EDGE_MM = 1.0
# Heat-treat magazines print 0.45 and 0.50 BTU/(lb degF) for quench oil: 1.88 and 2.09 kJ/(kg K).
OIL_J_PER_KG_K = 2000.0
WATER_J_PER_KG_K = 4180.0
# Warm water boils to a blanket of steam on the part, cold oil is thick (common practice, no single source).
WARMEST_WATER_C = 40.0
COLDEST_OIL_C, WARMEST_OIL_C = 40.0, 90.0
BAND_TOP_C = 80.0  # of most quench oils (common practice): its sheet may say another
MOST_RISE_K = 40.0  # by one part
FLASH_MARGIN_K = 28.0  # 50 degF as a difference; a rule in print shows 10 degC by mistake
FLASH_MARGIN_SOURCE = "US rule on quench tanks, OSHA 1910.126"
_STEP_S, _STEP_S_PER_MM = 0.05, 0.01  # what is thick is slow: steps longer in its measure
_HALVINGS = 30


def falls_to_s(thickness_mm: float, from_c: float, to_c: float, air_c: float = 20.0) -> float:
    """Return the seconds in which the skin of a bare place of this thickness falls to `to_c` in still air.

    A thin edge on a thick body gets heat from it, so this is the worst case.
    """
    heat = AUSTENITE if from_c > OUT_OF_THE_BATH_C else COOL_AUSTENITE
    model = parts.slab(thickness_mm, "bare", heat=heat)
    state, elapsed_s = parts.start(model, from_c), 0.0
    step_s = max(_STEP_S, _STEP_S_PER_MM * thickness_mm)
    while state.surface_c > to_c and elapsed_s < 3600.0:
        state = parts.advance(model, state, air_c, step_s)
        elapsed_s += step_s
    return elapsed_s


def transfer_s(thinnest_mm: float, at_c: float, steel: Steel) -> float | None:
    """Return the seconds that a transfer into the bath may take, None where the way costs nothing.

    Then the thinnest place, alone in still air, is at QUENCH_FLOOR_C; a grade that hardens in air has time.
    """
    if at_c <= QUENCH_FLOOR_C or steel.kind not in ("plain carbon", "low alloy"):
        return None
    return falls_to_s(thinnest_mm, at_c, QUENCH_FLOOR_C)


@dataclass(frozen=True, slots=True)
class Bath:
    """An oil bath. `limit_c` is the data sheet's highest temperature or flash less 28 K, the lower one."""

    oil_kg: float
    start_c: float
    flash_c: float
    highest_c: float | None = None

    @property
    def limit_c(self) -> float:
        """Return the highest bath temperature that is allowed after a quench."""
        margin_c = self.flash_c - FLASH_MARGIN_K
        return margin_c if self.highest_c is None else min(margin_c, self.highest_c)


def oil_beware(start_c: float) -> str:
    """Return what to know of an oil that begins too cold or too warm, nothing where it is as usual."""
    if start_c < COLDEST_OIL_C:
        return (
            f"oil at {start_c:.0f} °C is thick: it cools slowly and unevenly and flares more; warm it to "
            f"{COLDEST_OIL_C:.0f}-70 °C with a piece of hot scrap and stir (common practice)"
        )
    if start_c > WARMEST_OIL_C:
        return (
            f"oil at {start_c:.0f} °C is warm for an ordinary quench oil and sooner on fire: use only one "
            "that is made for hot use (common practice)"
        )
    return ""


def small_bath(start_c: float, first_c: float) -> str:
    """Return what to know of a bath that one part heats by much, nothing where it is large enough."""
    if first_c - start_c <= MOST_RISE_K:
        return ""
    return (
        f"one part heats the oil by {first_c - start_c:.0f} K: a bath this small quenches "
        "worse and catches fire sooner; use about 10 L for each kg of steel (common practice)"
    )


def water_after_each_c(
    water_kg: float, start_c: float, part_kg: float, part_c: float, parts: int
) -> tuple[float, ...]:
    """Return the temperature of a water bath after each part, without loss, steam left out."""
    temperatures, at_c = [], start_c
    for _ in range(parts):
        at_c = _mixed_c(water_kg * WATER_J_PER_KG_K, at_c, part_kg, part_c)
        temperatures.append(at_c)
    return tuple(temperatures)


def bath_after_each_c(bath: Bath, blade_kg: float, blade_c: float, blades: int) -> tuple[float, ...]:
    """Return the bath's temperature after each blade: a mixing balance without any loss to the room.

    The blade gives its whole heat content back, transformation included (EN 1993-1-2:2005, 3.4.1.2).
    """
    temperatures, at_c = [], bath.start_c
    for _ in range(blades):
        at_c = _mixed_c(bath.oil_kg * OIL_J_PER_KG_K, at_c, blade_kg, blade_c)
        temperatures.append(at_c)
    return tuple(temperatures)


def bath_kg_for(start_c: float, end_c: float, load_kg: float, load_c: float, j_per_kg_k: float) -> float:
    """Return how heavy a bath must be to end no hotter than `end_c`, without loss: the same balance."""
    given = load_kg * (heat_content_j_per_kg(load_c) - heat_content_j_per_kg(end_c))
    return given / (j_per_kg_k * (end_c - start_c))


def _mixed_c(bath_j_per_k: float, bath_c: float, blade_kg: float, blade_c: float) -> float:
    """Return where bath and blade meet; by halving the range between them."""
    low_c, high_c = bath_c, max(bath_c, blade_c)
    for _ in range(_HALVINGS):
        at_c = (low_c + high_c) / 2
        given = blade_kg * (heat_content_j_per_kg(blade_c) - heat_content_j_per_kg(at_c))
        low_c, high_c = (at_c, high_c) if bath_j_per_k * (at_c - bath_c) < given else (low_c, at_c)
    return (low_c + high_c) / 2


def past_band(bath: Bath, temperatures: tuple[float, ...]) -> int | None:
    """Return the number of the first blade (from 1) after which the oil is hotter than most are made for.

    None where it stays cooler, where its data sheet has said how hot it may get, or where it begins as hot
    oil, of which `oil_beware` speaks.
    """
    if bath.highest_c is not None or bath.start_c > WARMEST_OIL_C:
        return None
    return next((n for n, at_c in enumerate(temperatures, 1) if at_c > BAND_TOP_C), None)


def band_words(first: int) -> str:
    """Return what to know of an oil that is past its band after this part, though far from its flash."""
    return (
        f"after part {first} the oil is above {BAND_TOP_C:.0f} °C, the top of the band of most quench oils "
        "(common practice; its data sheet decides): it hardens less evenly and ages; let it cool before the "
        "next part, or use more oil"
    )


def too_many(bath: Bath, temperatures: tuple[float, ...]) -> int | None:
    """Return the number of the first blade (from 1) that would bring the bath over its limit, or None."""
    return next((n for n, at_c in enumerate(temperatures, 1) if at_c > bath.limit_c), None)
