"""A maker's own word for a key is answered with the recipe's; water is the card's "water or brine"."""

from pathlib import Path

import pytest

from kilnctl.errors import ProfileError
from kilnctl.treatment.recipe.recipes import Recipe, load_recipe
from kilnctl.treatment.recipe.treatments import Harden, Normalise

HEAD = 'name = "words"\nsteel = "W1"\nsection = "4 mm"\n'


def written(folder: Path, treatment: str, head: str = HEAD) -> Recipe:
    path = folder / "words.toml"
    path.write_text(f"{head}[[treatment]]\n{treatment}\n")
    return load_recipe(path)


@pytest.mark.parametrize(
    ("treatment", "right"),
    [
        ('do = "harden"\nquench = "water"', '"quench" is called "medium"'),
        ('do = "temper"\ntemperature = "205 C"', '"temperature" is called "at"'),
        ('do = "temper"\nat = "205 C"\ncycles = 2', '"cycles" is called "count"'),
        ('do = "harden"\nmedium = "oil"', "which oil"),
    ],
)
def test_the_right_word_is_told(tmp_path: Path, treatment: str, right: str) -> None:
    with pytest.raises(ProfileError, match=right):
        written(tmp_path, treatment)


def test_the_head_has_its_words_too(tmp_path: Path) -> None:
    with pytest.raises(ProfileError, match='"thickness" is called "section"'):
        written(tmp_path, 'do = "harden"', HEAD.replace("section", "thickness"))


def test_water_and_a_single_heat_are_taken_as_meant(tmp_path: Path) -> None:
    hardening = written(tmp_path, 'do = "harden"\nmedium = "water"').treatment[0]
    assert isinstance(hardening, Harden)
    assert hardening.medium == "water or brine"
    normalising = written(tmp_path, 'do = "normalise"\nat = "870 C"').treatment[0]
    assert isinstance(normalising, Normalise)
    assert normalising.at_c == (870.0,)


def test_a_wait_is_by_the_oven_of_what_follows(tmp_path: Path) -> None:
    path = tmp_path / "wait.toml"
    do = '[[treatment]]\ndo = "{}"\n'
    wait, temper = do.format("wait") + 'at_most = "12h"\n', do.format("temper") + 'oven = "small"\n'
    cold = do.format("cold treatment")
    path.write_text(f'{HEAD}oven = "large"\n{do.format("harden")}{cold}{temper}{wait}{temper}{wait}')
    ovens = [treatment.oven for treatment in load_recipe(path).treatment]
    assert ovens == [None, "small", "small", "small", "small", "small"]
