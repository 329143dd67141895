"""A recipe by asking."""

import io
from collections.abc import Iterator
from pathlib import Path

import pytest

from kilnctl.cli.main import run
from kilnctl.cli.plan import recipe_wizard
from kilnctl.cli.plan.steel import steel_wizard
from kilnctl.cli.terminal.by_asking import save
from kilnctl.errors import KilnctlError
from kilnctl.treatment.recipe.recipes import load_recipe

pytestmark = pytest.mark.usefixtures("own_home")


def spoken(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = run(words)
    told = capsys.readouterr()
    return code, told.out, told.err


def test_recipe_new_needs_a_terminal(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO())
    code, _, err = spoken(capsys, "recipe", "new")
    assert code == 2
    assert "needs a terminal" in err


def answers(*lines: str) -> Iterator[str]:
    return iter(lines)


def test_recipe_by_asking_asks_again_and_loads(tmp_path: Path) -> None:
    given = answers(
        "My Gouge",
        "my-gouge",
        "gouge",
        "O9",
        "o1",
        "no",
        "4",
        "4 mm",
        "bare",
        "harden",
        "1 mm",
        "71",
        "60-62",
        "hard",
        "temp",
    )
    told: list[str] = []
    text = recipe_wizard.ask_recipe(lambda _question: next(given), told.append)
    path = tmp_path / "my-gouge.toml"
    save(text, path)
    recipe = load_recipe(path)
    assert [t.do for t in recipe.treatment] == ["harden", "temper"]
    assert recipe.goal_hrc == (60.0, 62.0)
    assert recipe.steel_is_a_guess
    assert recipe.thinnest_mm == 1.0
    assert len(told) == 5
    assert "steel coupons my-gouge" in told[2]
    with pytest.raises(KilnctlError, match="exists already"):
        save(text, path)


ANSWERED = {
    "Name": "kn",
    "What": "temper",
    "Steel": "1084",
    "Thickest": "1/8 in",
    "Are you sure": "yes",
    "Thinnest": "1 mm",
    "Surface": "bare",
    "Goal": "60",
    "Oven": "tempering-oven",
    "Grade": "X1",
    "Kind": "plain",
    "Where": "own trials",
    "Carbon": "0.9",
    "Hardening": "1475 F to 1500 F",
    "Soak": "10 min",
    "Quench": "fast oil",
    "Temper": "400 F: 60",
}


METRIC, IMPERIAL = ("6 mm", "800 C to 815 C", "205 C: "), ("1/4 in", "1475 F to 1500 F", "400 F: ")


@pytest.mark.parametrize(("units", "seen", "unseen"), [("F", IMPERIAL, METRIC), ("C", METRIC, IMPERIAL)])
def test_questions_are_asked_in_the_units_that_were_chosen(
    units: str, seen: tuple[str, ...], unseen: tuple[str, ...], own_home: Path
) -> None:
    (own_home / "preferences.toml").write_text(f'units = "{units}"\n', encoding="utf-8")
    asked: list[str] = []

    def ask(question: str) -> str:
        asked.append(question)
        assert len(asked) < 60, "asked again and again"
        return next((said for key, said in ANSWERED.items() if question.startswith(key)), "")

    recipe_wizard.ask_recipe(ask, asked.append)
    steel_wizard.ask_card(ask, asked.append)
    whole = " ".join(asked)
    assert all(word in whole for word in seen)
    assert not any(word in whole for word in unseen)


def test_a_thick_shallow_steel_is_asked_for_water_and_stainless_for_the_cold(tmp_path: Path) -> None:
    """And a temper too hot for its oven asks for another."""
    punch = answers(
        *("punch", "punch", "W1", "yes", "8 mm", "bare", "harden", "4 mm", "yes", "60", "hard", "temp"),
    )
    made = recipe_wizard.ask_recipe(lambda _question: next(punch), [].append)
    assert 'medium = "water or brine"' in made
    knife = answers(
        *("knife", "knife", "AEB-L", "yes", "2 mm", "foil", "harden", "yes", "0.4 mm", "60", "hard", "temp"),
    )
    made = recipe_wizard.ask_recipe(lambda _question: next(knife), [].append)
    assert 'do = "cold treatment"' in made
    spring = answers("spring", "spring", "5160", "yes", "3 mm", "bare", "temper", "45", "temp", "hard")
    told: list[str] = []
    made = recipe_wizard.ask_recipe(lambda _question: next(spring), told.append)
    assert "near 473 °C" in told[-1]
