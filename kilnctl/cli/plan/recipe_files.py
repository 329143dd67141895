"""The commands about recipe files that are there: recipe list, copy and check."""

from pathlib import Path

import tomlkit

from kilnctl.cli.plan.plan_timing import own_fit
from kilnctl.cli.terminal.by_asking import save
from kilnctl.cli.terminal.listing import list_known
from kilnctl.cli.terminal.tell import tell
from kilnctl.config.oven import Oven, find_oven
from kilnctl.errors import KilnctlError, ProfileError
from kilnctl.treatment.job_file import find_job, is_profile, load_job
from kilnctl.treatment.own_oven import on_own_oven
from kilnctl.treatment.recipe.recipes import Recipe, load_recipe


def list_recipes() -> int:
    """List the recipes that are known here: your own and the bundled ones."""
    then = "On your own oven: kilnctl plan NAME --oven OVEN, or kilnctl recipe copy NAME --oven OVEN."
    return list_known("recipes", _line, then)


def _line(path: Path) -> str:
    try:
        recipe = load_recipe(path)
    except KilnctlError as e:
        return f"wrong: {str(e).splitlines()[0]}"
    doings = ", ".join(dict.fromkeys(t.do for t in recipe.treatment))
    return f"{recipe.steel or 'no steel'}: {doings} (in {', '.join(_ovens(recipe)) or 'any oven'})"


def _ovens(recipe: Recipe) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name for t in recipe.treatment if (name := t.oven or recipe.oven)))


def copy(recipe: str, /, *, oven: str, out: Path | None = None) -> int:
    """Copy a recipe for an oven of your own; show every line that changes.

    Parameters
    ----------
    recipe
        A recipe file, or the name of a bundled one.
    oven
        The oven that the copy is for, by file or name.
    out
        The file to write; left out, the recipe's name with the oven's behind it, in this folder.
    """
    path, chosen = find_job(recipe), find_oven(oven)
    if is_profile(path):
        raise ProfileError(f"{path.name}: a profile is made for one oven; copy the recipe it came from")
    text = path.read_text(encoding="utf-8")
    made = rewritten(text, load_recipe(path), chosen)
    target = out or Path(f"{path.stem}-{chosen.name.replace(' ', '-')}.toml")
    save(made, target)
    for before, now in zip(text.splitlines(), made.splitlines(), strict=True):
        if before != now:
            print(f"- {before}\n+ {now}")
    print(f"{target} written; look at it with: kilnctl plan {target} --oven {oven}")
    return 0


def rewritten(text: str, recipe: Recipe, oven: Oven) -> str:
    """Return a recipe's text with this oven in place of the one that is meant, all else as it stands.

    Raises ProfileError where none of its ovens is meant.
    """
    moved, said = on_own_oven(recipe, oven)
    if not said:
        names = " and ".join(_ovens(recipe)) or "any oven"
        raise ProfileError(
            f'{recipe.name} is for {names}: there is nothing in it to change for "{oven.name}"'
        )
    pairs = zip(recipe.treatment, moved.treatment, strict=True)
    meant = next(before.oven or recipe.oven for before, now in pairs if before != now)
    document = tomlkit.parse(text)
    for table in (document, *document["treatment"]):
        if table.get("oven") == meant:
            table["oven"] = oven.name
    return tomlkit.dumps(document)


def check(recipe: str, /, *, oven: str | None = None) -> int:
    """Say whether a recipe is complete, and whether the steel and an oven allow it.

    Parameters
    ----------
    recipe
        A recipe file, or the name of a bundled one.
    oven
        An oven file or name; left out, each oven that the recipe names.
    """
    path = find_job(recipe)
    known = load_recipe(path)  # before anything is said: what is no recipe is one line on stderr
    print(f"{path.name}: {_line(path)}")
    for name in (oven,) if oven else _ovens(known):
        made = load_job(recipe, find_oven(name), own=own_fit)
        print(f"{name}: {len(made.rows)} steps, nothing against it")
        for warning in made.warnings:
            tell(f"  {warning}")
    return 0
