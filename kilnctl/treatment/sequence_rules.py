"""The order of the trade: what must not come before what."""

from itertools import pairwise

from kilnctl.errors import ProfileError
from kilnctl.treatment.consequence import SAME_HEAT_K, SteelState
from kilnctl.treatment.recipe.recipes import Recipe
from kilnctl.treatment.recipe.treatments import (
    Anneal,
    AnyTreatment,
    ColdTreatment,
    Harden,
    Normalise,
    SnapTemper,
    Temper,
    Wait,
)
from kilnctl.treatment.steel.steels import Steel, ac1_c
from kilnctl.treatment.steel.temper.temper_choice import temper_choice
from kilnctl.units import say_duration, say_point, written_in_c

SOON_S = 3600.0  # temper within the hour (common practice)


def check_order(recipe: Recipe, steel: Steel | None) -> tuple[str, ...]:
    """Return warnings about the order of a recipe. Raises ProfileError for what can never be right."""
    doings = [t.do for t in recipe.treatment]
    if "harden" in doings:
        first = doings.index("harden")
        early = [do for do in doings[:first] if do in ("temper", "snap temper", "cold treatment")]
        if early and not any(t.undoes_hardness for t in recipe.treatment[: first + 1]):
            raise ProfileError(f"{recipe.name}: {early[0]} stands before the quench; put it after harden")
    found = (*_rising(recipe), *_cold_last(recipe), *_cold_late(recipe))
    found = (*found, *_untempered(recipe), *_left_waiting(recipe))
    found = (*found, *_unprotected(recipe, steel))
    return (*found, *_anneals(recipe, steel), *_cooled_too_fast(recipe, steel))


def _rising(recipe: Recipe) -> tuple[str, ...]:
    for treatment in recipe.treatment:
        if isinstance(treatment, Normalise) and treatment.at_c:
            steps = treatment.at_c
            if any(later > earlier for earlier, later in pairwise(steps)):
                return (
                    "the normalise steps rise; each should be lower than the last, or the grain grows back",
                )
    return ()


def _cold_last(recipe: Recipe) -> tuple[str, ...]:
    cold = [n for n, t in enumerate(recipe.treatment) if isinstance(t, ColdTreatment)]
    temper = [n for n, t in enumerate(recipe.treatment) if isinstance(t, Temper)]
    if cold and (not temper or cold[-1] > temper[-1]):
        return ("the cold treatment comes after the last temper: it leaves fresh, untempered martensite",)
    return ()


def _cold_late(recipe: Recipe) -> tuple[str, ...]:
    """Return a warning where austenite had time, or more than one temper, to settle before the cold.

    Common practice, no single source: cold within hours of the quench, at most after one temper.
    """
    waited_s, tempers, hardened = 0.0, 0, False
    for treatment in recipe.treatment:
        match treatment:
            case Harden():
                waited_s, tempers, hardened = 0.0, 0, True
            case Wait():
                waited_s += treatment.at_most_s
            case Temper():
                tempers += treatment.count or 2
            case ColdTreatment() if hardened and (waited_s > SOON_S or tempers > 1):
                return (
                    "the cold treatment comes late: retained austenite stabilises with time and with each "
                    "temper, and less of it transforms; put it right after the quench, or after one temper",
                )
    return ()


def _untempered(recipe: Recipe) -> tuple[str, ...]:
    hardened = [n for n, t in enumerate(recipe.treatment) if isinstance(t, Harden)]
    after = recipe.treatment[hardened[-1] :] if hardened else []
    if not hardened or any(isinstance(t, Temper) for t in after):
        return ()
    if any(isinstance(t, SnapTemper) for t in after):
        return ("only a snap temper follows the quench: it keeps the part for a day, still brittle",)
    return ("no temper follows the quench: the part stays brittle and may crack on its own within hours",)


def _left_waiting(recipe: Recipe) -> tuple[str, ...]:
    """Return a warning where a quenched part may wait for longer than an hour without any temper."""
    for before, treatment in pairwise(recipe.treatment):
        quenched = isinstance(before, Harden | ColdTreatment)
        if quenched and isinstance(treatment, Wait) and treatment.at_most_s > SOON_S:
            long = say_duration(treatment.at_most_s)
            return (f"the part may wait {long} untempered and crack on its own: put a snap temper before it",)
    return ()


def _unprotected(recipe: Recipe, steel: Steel | None) -> tuple[str, ...]:
    if steel is None or steel.kind not in ("high alloy", "stainless"):
        return ()
    found = []
    for treatment in recipe.treatment:
        if isinstance(treatment, Harden):
            if treatment.protection == "none" and recipe.surface not in ("foil", "coated"):
                found.append(f"{steel.grade} hardened without foil or coating: scale and a soft skin")
            if treatment.preheat is False:
                found.append(f"{steel.grade} hardened without a preheat: warp and cracks")
    return tuple(found)


def _anneals(recipe: Recipe, steel: Steel | None) -> tuple[str, ...]:
    """Return warnings about anneals on the wrong side of Ac1. Raises ProfileError for a full one."""
    start_c = ac1_c(steel) if steel is not None else None
    found = []
    for treatment in recipe.treatment:
        if not isinstance(treatment, Anneal) or treatment.at_c is None or start_c is None:
            continue
        if treatment.type == "full" and treatment.at_c < start_c:
            raise ProfileError(
                f"{recipe.name}: a full anneal at {say_point(treatment.at_c)} is below Ac1 "
                f"({start_c:.0f} °C); "
                'that is type = "subcritical"'
            )
        if treatment.type == "subcritical" and treatment.at_c > start_c:
            found.append(f"sub-critical anneal at {treatment.at_c:.0f} °C is above Ac1 ({start_c:.0f} °C)")
    return tuple(found)


def _cooled_too_fast(recipe: Recipe, steel: Steel | None) -> tuple[str, ...]:
    """Return warnings about an anneal that cools faster than every source of the card."""
    found = []
    for treatment in recipe.treatment:
        if not isinstance(treatment, Anneal) or steel is None or treatment.cool_rate_c_per_h is None:
            continue
        rates = [(c.rate_c_per_h, c) for c in steel.anneal if c.type == treatment.type and c.rate_c_per_h]
        given = treatment.cool_rate_c_per_h
        if rates and given > 1.05 * max(rate for rate, _ in rates):
            rate, claim = max(rates, key=lambda pair: pair[0])
            meant = (
                f"; did you mean {given:.0f} °F/h ({given / 1.8:.0f} °C/h)?"
                if written_in_c(given) and given / 1.8 <= 1.05 * rate
                else ""
            )
            says = f"cools at {given:.0f} °C/h, the card at most {rate:.0f} °C/h ({steel.cite(claim)}){meant}"
            found.append(f"the {treatment.type} anneal {says}")
    return tuple(found)


def check_goal(recipe: Recipe, steel: Steel | None) -> None:
    """Refuse a goal hardness that no table of the card reaches. Raises ProfileError, says what can be."""
    tempered = any(isinstance(t, Temper) for t in recipe.treatment)
    if tempered and recipe.goal_hrc is not None and steel is not None and steel.temper_table:
        temper_choice(steel, recipe.goal_hrc)


def check_consequence(
    recipe: Recipe, treatment: AnyTreatment, peak_c: float, part: SteelState, temper_c: float, steel: Steel
) -> str:
    """Return a warning where a treatment undoes the hardening of `part` for a reason, else nothing.

    `peak_c` is the hottest that the treatment gets, `temper_c` the hottest temper of the recipe. Raises
    ProfileError where it does so without a reason.
    """
    what = _undone(treatment, peak_c, part, temper_c) if part.hard else ""
    if not what:
        return ""
    temper = isinstance(treatment, Temper | SnapTemper)
    cure = "leave it out" if temper else "leave it out, put it before the hardening"
    if isinstance(treatment, Harden):
        first = (
            "anneal" if steel.do_not_normalise or steel.kind in ("high alloy", "stainless") else "normalise"
        )
        what = f"{what}: a second quench straight from hard steel can crack it and leaves mixed grain"
        cure = f"{first} it in between (common practice)"
    if treatment.undoes_hardness:
        return f"{what}, because: {treatment.undoes_hardness}"
    raise ProfileError(
        f'{recipe.name}: {what}; {cure}, or say why in that treatment: undoes_hardness = "..."'
    )


def _undone(treatment: AnyTreatment, peak_c: float, part: SteelState, temper_c: float) -> str:
    says = f"the {treatment.do} at {say_point(peak_c)}"
    match treatment:
        case Temper() | SnapTemper():
            exceeds = part.tempered_c is not None and peak_c > part.tempered_c + SAME_HEAT_K
            return (
                f"{says} exceeds the temper before it ({say_point(part.tempered_c or 0.0)})"
                if exceeds
                else ""
            )
        case ColdTreatment() | Wait():
            return ""
        case _:
            harmless_c = part.tempered_c if part.tempered_c is not None else temper_c
            return f"{says} undoes the hardening before it" if peak_c > harmless_c + SAME_HEAT_K else ""
