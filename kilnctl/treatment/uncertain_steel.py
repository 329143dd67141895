"""What is not certain of a part: a grade that is a guess, and a laminate, whose core decides."""

from kilnctl.errors import ProfileError
from kilnctl.profile.segments import Profile, Soak
from kilnctl.treatment.coupons import Coupons, load_coupons, reading
from kilnctl.treatment.plan_checks import check_steel
from kilnctl.treatment.recipe.recipes import Recipe
from kilnctl.treatment.segments.segment_builders import Segments
from kilnctl.treatment.steel.soft_cladding import soft_cladding
from kilnctl.treatment.steel.steels import Steel, load_steel
from kilnctl.treatment.steel.windows import ROUNDED_K
from kilnctl.units import say_point

UNPROVEN = "unproven: the grade is a guess"


def doubt_of(recipe: Recipe) -> str:
    """Return what plan and record say beside the steel: nothing of a known grade. Raises ProfileError."""
    if not recipe.steel_is_a_guess:
        return ""
    tried = _tried(recipe)
    return UNPROVEN if tried is None else f"the grade is a guess, tried on coupons ({tried.name})"


def _tried(recipe: Recipe) -> Coupons | None:
    """Return the coupons of a guessed grade where their results are in, else None."""
    coupons = load_coupons(recipe.coupons) if recipe.coupons else None
    return coupons if coupons is not None and coupons.proven else None


def marked(segments: Segments, recipe: Recipe) -> Segments:
    """Return the segments with the doubt beside every number that comes from a guessed grade."""
    doubt = doubt_of(recipe)
    if not doubt:
        return segments
    return tuple(
        s.model_copy(update={"reason": f"{s.reason}; {doubt}"}) if isinstance(s, Soak) else s
        for s in segments
    )


def doubt_warnings(recipe: Recipe, profile: Profile) -> tuple[str, ...]:
    """Return what to know of a guess or a laminate. Raises ProfileError where the cladding forbids."""
    found = _guess_warnings(recipe, profile) if recipe.steel_is_a_guess else ()
    return found if recipe.cladding is None else (*found, *_jacket(recipe, profile, recipe.cladding))


def _jacket(recipe: Recipe, profile: Profile, cladding: str) -> tuple[str, ...]:
    """Return what the jacket of a laminate asks for, by its card or as a soft one that has none."""
    try:
        card = load_steel(cladding)
    except ProfileError:
        heats = [s.at_c for s in profile.segments if isinstance(s, Soak) and s.purpose == "harden"]
        cautions = soft_cladding(cladding, max(heats, default=None))
        if cautions is None:
            raise
        return (_core(recipe), *(f"cladding {cladding}: {text}" for text in cautions))
    return _laminate(recipe, profile, card)


def _core(recipe: Recipe) -> str:
    return f"the core {recipe.steel} decides heats and hardness; the stricter caution of both holds"


def _guess_warnings(recipe: Recipe, profile: Profile) -> tuple[str, ...]:
    tried = _tried(recipe)
    if tried is None:
        return (
            f"{recipe.steel} is a guess: quench, file and break a coupon first, look at its grain, and "
            "temper trial pieces (`kilnctl steel coupons`); every number here is unproven until then",
        )
    heats = [s.at_c for s in profile.segments if isinstance(s, Soak) and s.purpose == "harden"]
    wrong = [at_c for at_c in heats if tried.best is None or abs(at_c - tried.best.at_c) > 10.0]
    best = "" if tried.best is None else say_point(tried.best.at_c)
    found = tuple(f"hardened from {say_point(c)}, the coupons were right from {best}" for c in wrong[:1])
    return (f"{recipe.steel} is a guess; coupons: {'; '.join(reading(tried))}", *found)


def _laminate(recipe: Recipe, profile: Profile, cladding: Steel) -> tuple[str, ...]:
    """Return the cautions of the cladding; the core's hardening heat is its own, all else must suit both."""
    rest = tuple(s for s in profile.segments if not (isinstance(s, Soak) and s.purpose == "harden"))
    alone = profile.model_copy(update={"segments": rest, "goal_hrc": None})
    try:
        found = [warn.text for warn in check_steel(alone, cladding)]
    except ProfileError as e:
        raise ProfileError(f"cladding {cladding.grade}: {e}") from None
    heats = [s.at_c for s in profile.segments if isinstance(s, Soak) and s.purpose == "harden"]
    hot = [b for b in cladding.too_hot if heats and max(heats) > b.low_c + ROUNDED_K]
    found += [f"above {b.low_c:.0f} °C: {b.note} ({cladding.cite(b)})" for b in hot]
    found += [c.say for c in cladding.cautions_for(recipe.surface) if c.at != "card"]
    return (_core(recipe), *(f"cladding {cladding.grade}: {text}" for text in dict.fromkeys(found)))
