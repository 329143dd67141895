"""A bundled recipe on one's own oven: which of its treatments are meant, and what is different there.

Only for bundled recipes, whose ovens exist nowhere. A recipe of one's own names a real oven, and another one
may be a slip of the hand: that one is copied first.
"""

from kilnctl.config.home import known
from kilnctl.config.oven import Oven, load_oven
from kilnctl.treatment.chain import is_done_in
from kilnctl.treatment.recipe.recipes import Recipe
from kilnctl.units import say_point


def on_own_oven(recipe: Recipe, oven: Oven) -> tuple[Recipe, tuple[str, ...]]:
    """Return the recipe with the oven that it means replaced by this one, and in words what is different.

    Meant is the oven of the same use; where the recipe has just one oven, that one. Unchanged where the
    recipe knows this oven already, or where no oven of it is meant.
    """
    meant = _meant(recipe, oven)
    if meant is None:
        return recipe, ()
    treatments = tuple(
        t.model_copy(update={"oven": oven.name}) if (t.oven or recipe.oven) == meant else t
        for t in recipe.treatment
    )
    said = f'the recipe is written for "{meant}"; done here on "{oven.name}"{_differs(meant, oven)}'
    return recipe.model_copy(update={"treatment": treatments}), (said,)


def _meant(recipe: Recipe, oven: Oven) -> str | None:
    if any(is_done_in(recipe, t, oven) for t in recipe.treatment):
        return None
    names = list(dict.fromkeys(name for t in recipe.treatment if (name := t.oven or recipe.oven)))
    same = [name for name in names if name in known("ovens") and _of(name).use == oven.use]
    chosen = same if same else names
    return chosen[0] if len(chosen) == 1 else None


def _of(name: str) -> Oven:
    return load_oven(known("ovens")[name])


def _differs(meant: str, oven: Oven) -> str:
    """Say what is different of the two ovens, as far as it bears on the heat."""
    if meant not in known("ovens"):
        return ""
    was = _of(meant)
    rows = (
        ("use", was.use, oven.use),
        ("build", was.build, oven.build),
        ("power", f"{was.power_w:.0f} W", f"{oven.power_w:.0f} W"),
        ("limit", say_point(was.limit_c), say_point(oven.limit_c)),
    )
    found = [f"{what} {before} becomes {now}" for what, before, now in rows if before != now]
    return f": {', '.join(found)}" if found else ""
