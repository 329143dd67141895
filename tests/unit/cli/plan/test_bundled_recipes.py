"""Every bundled recipe through the command line: planned in words and as data, and rehearsed to its end."""

import json

import pytest

from kilnctl.cli.main import run
from kilnctl.config.home import bundled
from kilnctl.treatment.recipes import load_recipe

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


@pytest.mark.slow
@pytest.mark.parametrize(("name", "oven"), PAIRS)
def test_it_is_rehearsed_to_its_end(name: str, oven: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(("dry-run", name, "--oven", oven, "--json")) == 0
    assert json.loads(capsys.readouterr().out.splitlines()[-1])["outcome"] == "complete"
