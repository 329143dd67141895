"""Every bundled recipe through the command line: planned, and one of each kind rehearsed to its end.

The other ovens, what is like another, and the day of a new lining, by name:

    python -m pytest tests/unit/cli/plan/test_plan_bundled_recipes.py -m on_demand
"""

import json
from pathlib import Path

import pytest

from kilnctl.cli.main import run
from kilnctl.config.home import bundled
from kilnctl.treatment.recipe.recipes import load_recipe

pytestmark = pytest.mark.usefixtures("own_home")

PAIRS = [
    (path.stem, oven)
    for path in sorted(bundled("recipes").glob("*.toml"))
    for oven in sorted({t.oven or load_recipe(path).oven or "" for t in load_recipe(path).treatment})
]


def first_oven(name: str) -> str | None:
    recipe = load_recipe(bundled("recipes") / f"{name}.toml")
    return recipe.treatment[0].oven or recipe.oven


@pytest.mark.slow
@pytest.mark.parametrize(("name", "oven"), PAIRS)
def test_it_plans(name: str, oven: str, capsys: pytest.CaptureFixture[str]) -> None:
    asked = ("plan", name) if oven == first_oven(name) else ("plan", name, "--oven", oven)
    assert run(asked) == 0
    told = capsys.readouterr()
    assert told.err == ""
    assert max(map(len, told.out.splitlines())) <= 80
    assert f"in {oven}" in " ".join(told.out.split())


# Each is a part of one that is rehearsed: a plain temper, an anneal in the shut furnace, a stress relief, one
# blade of six, foil and plates once more. A slow cooling in the shut furnace is a chain of tests/physics.
LIKE_ANOTHER = (
    "drawknife-5160-harden",
    "drawknife-80crv2",
    "marking-knife-1095-cool-in-furnace",
    "marking-knife-aeb-l",
    "carving-knife-1084-temper",
    "marking-knife-1095-temper",
    "drawknife-5160-anneal",
    "drawknife-80crv2-anneal",
    "gouge-o1-stress-relief",
    "gouge-o1-harden",
)


def by_name(name: str, oven: str) -> bool:
    """Return whether a heat is rehearsed by name only: further ovens, drying, the like of another."""
    return oven != first_oven(name) or name in ("new-lining-first-firing", *LIKE_ANOTHER)


@pytest.fixture
def coarse_ovens(own_home: Path) -> None:
    """The bundled ovens with a tick of 4 s: every step of a recipe and its end at half the cost.

    What a second's tick does stands in tests/physics.
    """
    (own_home / "ovens").mkdir()
    for path in bundled("ovens").glob("*.toml"):
        text = path.read_text(encoding="utf-8").replace("\nlimit = ", '\ntick = "4 s"\nlimit = ', 1)
        assert "tick" in text
        (own_home / "ovens" / path.name).write_text(text, encoding="utf-8")


@pytest.mark.slow
@pytest.mark.usefixtures("coarse_ovens")
@pytest.mark.parametrize(
    ("name", "oven"), [pytest.param(*p, marks=[pytest.mark.on_demand] * by_name(*p)) for p in PAIRS]
)
def test_it_is_rehearsed_to_its_end(name: str, oven: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(("dry-run", name, "--oven", oven, "--json")) == 0
    assert json.loads(capsys.readouterr().out.splitlines()[-1])["outcome"] == "complete"
