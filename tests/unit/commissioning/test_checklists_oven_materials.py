"""What an oven is made of can harm who opens it: said at set-up, before a first firing and in the guide.

IARC: asbestos and crystalline silica in group 1 (Monograph 100C), refractory ceramic fibre in 2B (81); fibre
turns to cristobalite in service above about 1000 degC (NIOSH 2006-123). No dry sweeping and
P3 or P100 are their advice.
"""

from pathlib import Path

import pytest

import kilnctl
from kilnctl.cli.main import run
from kilnctl.commissioning.checklists import BEFORE_ANYTHING
from kilnctl.permits.cautions import cautions

HOWTO = Path(kilnctl.__file__).parent / "guide" / "howto"


WORDS = ("asbestos", "licensed", "laboratory", "ceramic fibre", "2B", "cristobalite", "silica", "P3", "P100")


@pytest.mark.parametrize("word", [*WORDS, "never\nsweep", "Wet it", "rules of their own"])
def test_the_guide_says_each_hazard_and_what_to_do(word: str) -> None:
    assert word in (HOWTO / "look-after-an-oven.md").read_text(encoding="utf-8")


def test_who_builds_an_oven_is_told_before_the_first_hole() -> None:
    page = (HOWTO / "own-oven.md").read_text(encoding="utf-8")
    assert page.index("asbestos") < page.index("## 1. Write the oven file")


def test_the_set_up_asks_before_anything() -> None:
    assert "asbestos" in cautions().before_anything
    assert any("asbestos" in question for question in BEFORE_ANYTHING)


@pytest.mark.usefixtures("own_home")
def test_a_first_firing_says_how_to_clean_up(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["plan", "new-lining-first-firing", "--json"]) == 0
    assert "sweep or blow" in capsys.readouterr().out
