"""What a practitioner would say about a plan before the heat: hardness, edges, oil, honest names."""

from typing import TypeGuard

from kilnctl.config.oven import Oven
from kilnctl.errors import RunRefused
from kilnctl.model import part as parts
from kilnctl.model.oven_model import OvenModel
from kilnctl.profile.segments import AnySegment, Profile, Ramp, Soak
from kilnctl.treatment.consequence import SteelState, dose_of, expected_of, said_of
from kilnctl.treatment.recipe.recipes import Recipe
from kilnctl.treatment.recipe.treatments import Harden, Normalise, SnapTemper, Temper
from kilnctl.treatment.segment_forecast import Span, shut_cooling_c_per_s, still_air_curve
from kilnctl.treatment.segments.hardening import UNEVEN
from kilnctl.treatment.segments.quench_medium import DRY, medium_of
from kilnctl.treatment.segments.quench_steps import RECOVERS, edge_of
from kilnctl.treatment.segments.segment_builders import PlanFor
from kilnctl.treatment.steel.cooling_names import FROM_C, exposure_note, name_cooling, rate_700_500
from kilnctl.treatment.steel.formulas import MS_BAND_K, ROOM_C, after_quench, retained_austenite
from kilnctl.treatment.steel.hardness import PLUS_MINUS_HRC
from kilnctl.treatment.steel.quenching import (
    COLDEST_OIL_C,
    QUENCH_FLOOR_C,
    Bath,
    band_words,
    bath_after_each_c,
    past_band,
    too_many,
    transfer_s,
)
from kilnctl.treatment.steel.steels import Steel
from kilnctl.treatment.steel.temper.temper_soon import temper_soon
from kilnctl.units import say_mm, say_point

SHORTEST_TRANSFER_S = 5.0
TAKEN_OUT_HOT_C = 300.0  # above this a heat ends with a person who takes the part out hot


def hardness_notes(part: SteelState, steel: Steel | None) -> tuple[str, ...]:
    """Return what every source expects of the part in its last state."""
    dose = dose_of(part, steel) if steel is not None and part.hard else None
    if steel is None or dose is None:
        return ()
    said = tuple(
        f"after {_heat(part, dose[0])} °C expect {_span(e.low_hrc, e.high_hrc)} HRC ({e.source})"
        for e in expected_of(part, steel)
    )
    if not said:
        return (f"in the end: {said_of(part, steel)}; test the part",)
    return (*said, f"every hardness here is ± {PLUS_MINUS_HRC:.0f} HRC: test the part")


def _heat(part: SteelState, at_c: float) -> str:
    """Return the hottest heat in degC, a range where the part may have been above or below it."""
    return _span(*(at_c + off_k for off_k in part.off_k))


def _span(low: float, high: float) -> str:
    return f"{low:.0f}" if round(low) == round(high) else f"{low:.0f}-{high:.0f}"


def quench_notes(profile: Profile, steel: Steel, recipe: Recipe | None) -> tuple[str, ...]:
    """Return dissolved carbon, Ms and retained austenite, and the time that the thinnest place allows."""
    soaks = [
        s for s in profile.segments if isinstance(s, Soak) and s.purpose == "harden" and s.clock == "part"
    ]
    if not soaks:
        return ()
    at_c, notes = soaks[-1].at_c, []
    recoveries = [s.soak_s for s in profile.segments if _is_recovery(s)]
    if recoveries:
        notes.append(
            f"the last of {len(recoveries) + 1} parts is at heat {sum(recoveries) / 60:.0f} min longer than "
            "the first, plus the handling time: keep the soak near the short end of the card"
        )
    expected = after_quench(steel, at_c)
    if expected is not None:
        few, many = (retained_austenite(expected.ms_c + k, ROOM_C) for k in (MS_BAND_K, -MS_BAND_K))
        left = (
            f"{few * 100:.0f}-{many * 100:.0f} % retained austenite at room temperature ({expected.source})"
        )
        notes.append(
            f"at {at_c:.0f} °C about {expected.carbon:.2f} % C is dissolved: "
            f"Ms near {expected.ms_c:.0f} °C (± {MS_BAND_K:.0f} K), {left}"
        )
    thinnest_mm = recipe.thinnest_mm if recipe else None
    edge_mm = edge_of(thinnest_mm, profile.section_mm)
    budget_s = transfer_s(edge_mm, at_c, steel)
    if budget_s is not None:
        guess = "" if thinnest_mm else f"thinnest place unknown, taken as {edge_mm:g} mm; "
        notes.append(guess + transfer_note(edge_mm, budget_s))
    return tuple(notes)


def _is_recovery(segment: AnySegment) -> TypeGuard[Soak]:
    return isinstance(segment, Soak) and segment.label.startswith(RECOVERS)


# S = 2^(0.32 G): three ASTM numbers finer is a factor of 1.95 (Li and others 1998, the pearlite term).
SHALLOWER = (
    "a refined grain hardens less deeply: ASTM 10 in place of 7 halves the time to the pearlite nose (Li and "
    "others 1998). Lose no time on the way to the bath; a thick part may stay soft inside"
)


def transfer_note(thinnest_mm: float, budget_s: float) -> str:
    """Return the time from oven to bath in words."""
    hurry = (
        ": too short for a walk, so stand the bath beside the oven" if budget_s < SHORTEST_TRANSFER_S else ""
    )
    seconds = f"{budget_s:.0f}" if budget_s >= 3.0 else f"{budget_s:.1f}"
    alone = f"{thinnest_mm:.3g} mm alone in still air is at {QUENCH_FLOOR_C:.0f} °C by then"
    return f"from oven to bath in {seconds} s: {alone}{hurry}"


def normalise_notes(profile: Profile, steel: Steel, model: OvenModel, oven: Oven) -> tuple[str, ...]:
    """Return how fast the part cools in still air, and what it would be called left in the shut oven."""
    soaks = [s for s in profile.segments if isinstance(s, Soak) and s.purpose == "normalise"]
    part = parts.part_of(profile)
    if not soaks or part is None:
        return ()
    air = still_air_c_per_s(part, soaks[0].at_c, oven.ambient_c)
    notes = [f"in still air {profile.section_mm:g} mm cools at about {air:.1f} °C/s from 700 to 500 °C"]
    shut = shut_cooling_c_per_s(model, soaks[0].at_c, oven.ambient_c)
    if shut is not None:
        notes.append(f"left in the shut oven it would be: {name_cooling(shut, steel).name}")
    if len(soaks) > 1 and steel.kind == "plain carbon":
        notes.append(SHALLOWER)
    return tuple(notes)


def still_air_c_per_s(part: parts.PartModel, from_c: float, air_c: float) -> float:
    """Return the mean cooling rate from 700 to 500 degC of a part hung in still air."""
    return rate_700_500(still_air_curve(part, from_c, air_c)) or 0.0


def alone_warnings(recipe: Recipe, steel: Steel, model: OvenModel, oven: Oven) -> tuple[str, ...]:
    """Return the honest name of every normalise that is left to cool in the shut oven."""
    found = []
    for treatment in recipe.treatment:
        if isinstance(treatment, Normalise) and treatment.alone:
            from_c = treatment.at_c[0] if treatment.at_c else steel.normalise[0].middle_c
            shut = shut_cooling_c_per_s(model, from_c, oven.ambient_c)
            named = name_cooling(shut, steel, from_c) if shut is not None and from_c > FROM_C else None
            if named is not None:
                found.append(f"nobody takes the part out: {named.name}")
    return tuple(found)


def hot_notes(profile: Profile, spans: tuple[Span, ...], recipe: Recipe | None) -> tuple[str, ...]:
    """Return the minutes above 700 and 800 degC that this heat adds to the part, and their note."""
    exposure = spans[-1].exposure
    if exposure.above_700_s < 60.0:
        return ()
    protected = profile.surface in ("coated", "foil")
    minutes = (
        f"{exposure.above_700_s / 60:.0f} min above 700 °C, {exposure.above_800_s / 60:.0f} above 800 °C"
    )
    limit_s = recipe.bare_limit_s if recipe else 1800.0
    notes = (f"this heat adds {minutes}, {profile.surface}", exposure_note(exposure, limit_s, protected))
    return tuple(note for note in notes if note)


def oil_notes(bench: PlanFor, at_c: float) -> tuple[str, ...]:
    """Return the bath's temperature after each blade.

    Raises RunRefused where a blade would bring it over its data sheet's limit or flash less 28 K.
    """
    for treatment in bench.recipe.treatment:
        if isinstance(treatment, Harden) and treatment.oil is not None and treatment.mass_kg is not None:
            oil = treatment.oil
            bath = Bath(oil.mass_kg, oil.start_c, oil.flash_c, oil.highest_c)
            blades = len(bench.blades(treatment))
            temperatures = bath_after_each_c(bath, treatment.mass_kg, at_c, blades)
            over = too_many(bath, temperatures)
            if over is not None:
                raise RunRefused(
                    f"{bench.recipe.name}: part {over} would bring the oil to "
                    f"{temperatures[over - 1]:.0f} °C; its limit is {say_point(bath.limit_c)} "
                    "(flash less 28 K, or the data sheet's): let it cool or use more oil"
                )
            said = ", ".join(f"{t:.0f}" for t in temperatures)
            first = past_band(bath, temperatures)
            warm = "" if first is None else f"; {band_words(first)}"
            return (f"oil after each part: {said} °C; its limit is {bath.limit_c:.0f} °C{warm}",)
    return ()


def bath_notes(bench: PlanFor) -> tuple[str, ...]:
    """Return how warm an oil begins that nobody has described, and which end of an uneven part goes first."""
    quenches = [t for t in bench.recipe.treatment if isinstance(t, Harden)]
    if not quenches or medium_of(bench, quenches[0]) in DRY:
        return ()
    notes = []
    if quenches[0].oil is None and medium_of(bench, quenches[0]).endswith("oil"):
        notes.append(
            f"oil at {COLDEST_OIL_C:.0f}-70 °C before the first part, stirred, unless its data sheet says "
            "otherwise (common practice): cold oil is thick, quenches unevenly and flares more"
        )
    thick_mm, thin_mm = bench.recipe.section_mm or 0.0, bench.recipe.thinnest_mm
    if thin_mm is not None and thick_mm >= UNEVEN * thin_mm:
        notes.append(
            "a very uneven part: its thick end goes into the bath first, straight down; thin places cool "
            "first and are pulled out of line by what cools later (common practice)"
        )
    return tuple(notes)


def temper_soon_notes(recipe: Recipe, steel: Steel | None) -> tuple[str, ...]:
    """Return what to remember between quench and temper."""
    doings = [type(t) for t in recipe.treatment]
    following = doings[doings.index(Harden) + 1 :] if Harden in doings else []
    if following and following[0] in (Temper, SnapTemper):
        return (temper_soon(steel),)
    return ()


def stack_notes(recipe: Recipe) -> tuple[str, ...]:
    """Return how the parts of a load must lie for the soak of the plan to hold."""
    if len(recipe.parts) < 2 or recipe.section_mm is None:
        return ()
    together = say_mm(sum(part.section_mm for part in recipe.parts))
    if recipe.stack == "tight":
        return (f"a tight stack: its {len(recipe.parts)} parts heat like one solid piece of {together}",)
    return (
        f"{len(recipe.parts)} parts, spaced: the soak holds only with air between them on every side; "
        f'packed together they heat like one piece of {together}: write stack = "tight" for that',
    )


def notes_of_load(profile: Profile, spans: tuple[Span, ...]) -> tuple[str, ...]:
    """Return what to look at before loading, and how long the part lags behind the oven."""
    if profile.steel is None:
        return ()
    lag_s = max(span.part_late_s for span in spans)
    late = f"the part is at heat up to {lag_s / 60:.0f} min after the oven: its clock starts then"
    clean = "load only what is clean and dry: nothing oily, plated, painted, glued or with a sealed hollow"
    return (*((late,) if lag_s > 120.0 else ()), clean, *_not_into_a_hot_oven(profile), _others(profile))


def _others(profile: Profile) -> str:
    """Return the caution for whoever else may come near: they cannot tell black hot steel from cold."""
    if profile.peak_c <= TAKEN_OUT_HOT_C:
        return "no child, animal or visitor at the oven while it is hot"
    return (
        "no child, animal or visitor in the room until all is hand-warm; a helper stands behind you, eyes "
        "covered, never between oven and bath. Plates, tongs and parts burn long after they look cold: one "
        "marked place for them"
    )


def _not_into_a_hot_oven(profile: Profile) -> tuple[str, ...]:
    """Return the caution of a part that lies in the oven from the start: its hands come before any start."""
    first = profile.segments[0]
    if not isinstance(first, Ramp) or not parts.inside(profile, 0):
        return ()
    return (
        f"load only while the oven is below {say_point(first.to_c)}: kilnctl starts in no hotter one, but a "
        "part that already lies in it heats up all the same",
    )
