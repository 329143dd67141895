"""The command that writes a recipe: recipe."""

import sys
import tomllib
from pathlib import Path
from typing import Literal

from kilnctl.errors import ProfileError


def recipe(what: Literal["new"], /, *, out: Path | None = None) -> int:
    """Write a recipe by asking.

    Parameters
    ----------
    what
        The word new.
    out
        The file to write; left out, the recipe's name in this folder.
    """
    from kilnctl.cli.plan.recipe_wizard import ask_recipe, save

    if not sys.stdin.isatty():
        raise ProfileError(f"recipe {what} asks questions and needs a terminal; or copy a bundled recipe")
    try:
        text = ask_recipe(input, print)
    except EOFError:
        raise ProfileError("no answer any more; nothing was written") from None
    path = out or Path(f"{tomllib.loads(text)['name']}.toml")
    save(text, path)
    print(f"{path} written; look at it with: kilnctl plan {path}")
    return 0
