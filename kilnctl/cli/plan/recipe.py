"""The commands about recipes: recipe new, list, copy, check."""

import sys
import tomllib
from pathlib import Path

from cyclopts import App

from kilnctl.cli.plan.recipe_files import check, copy, list_recipes
from kilnctl.cli.terminal.by_asking import save_answers, stoppable
from kilnctl.errors import ProfileError


def new(*, out: Path | None = None) -> int:
    """Write a recipe by answering questions.

    Parameters
    ----------
    out
        The file to write; left out, the recipe's name in this folder.
    """
    from kilnctl.cli.plan.recipe_wizard import ask_recipe

    if not sys.stdin.isatty():
        raise ProfileError("recipe new asks questions and needs a terminal; or copy a bundled recipe")
    try:
        print("q stops; nothing is written before the end.")
        text = ask_recipe(stoppable(input), print)
    except EOFError:
        raise ProfileError("stopped; nothing was written") from None
    path = out or Path(f"{tomllib.loads(text)['name']}.toml")
    save_answers(text, path)
    print(f"{path} written; look at it with: kilnctl plan {path}")
    return 0


recipe = App(
    name="recipe",
    help="Recipes: list, copy one for your oven, check one, write one by answering questions.",
)
recipe.command(list_recipes, name="list", sort_key=0)
recipe.command(copy, sort_key=1)
recipe.command(check, sort_key=2)
recipe.command(new, sort_key=3)
