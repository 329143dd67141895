"""A bundled recipe on an oven of one's own: by --oven, or as a copy; said is exactly what is different."""

import json
import re
from pathlib import Path

import pytest

from kilnctl.cli.main import run
from kilnctl.config.home import bundled

OTHER = (
    ('name = "tempering-oven"', 'name = "my-oven"'),
    ("simulated = true\n", ""),
    ('power = "1200 W"', 'power = "2000 W"'),
    ('\nlimit = "260 C"', '\ntick = "4 s"\nlimit = "280 C"'),  # a coarse tick: rehearsed the sooner
)
DIFFERS = 'written for "tempering-oven"; done here on "my-oven": power 1200 W becomes 2000 W, limit 260 °C'


@pytest.fixture(autouse=True)
def shop(own_home: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    text = (bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
    for before, now in OTHER:
        assert before in text
        text = text.replace(before, now)
    (own_home / "ovens").mkdir()
    (own_home / "ovens" / "my-oven.toml").write_text(text, encoding="utf-8")
    monkeypatch.chdir(own_home)
    return own_home


def test_a_bundled_recipe_is_planned_on_it_and_the_difference_is_said(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["plan", "gouge-o1-temper", "--oven", "my-oven"]) == 0
    assert DIFFERS in " ".join(capsys.readouterr().out.split())
    assert run(["plan", "gouge-o1-temper"]) == 0
    assert "written for" not in capsys.readouterr().out


@pytest.mark.slow
@pytest.mark.parametrize(
    "command", [["dry-run"], pytest.param(["prove", "--runs", "2"], marks=pytest.mark.on_demand)]
)
def test_it_is_rehearsed_on_it(command: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert run([command[0], "gouge-o1-temper", *command[1:], "--oven", "my-oven", "--json"]) == 0
    assert json.loads(capsys.readouterr().out.splitlines()[-1])


def test_of_a_recipe_for_two_ovens_only_the_treatments_of_its_use_come_here(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["plan", "drawknife-80crv2", "--oven", "my-oven", "--json"]) == 0
    made = json.loads(capsys.readouterr().out)
    assert made["profile"]["oven"] == "my-oven"
    assert any("hardening-furnace" in words for words in made["elsewhere"])


def test_a_recipe_of_ones_own_is_never_moved_by_a_slip(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    own = shop / "mine.toml"
    own.write_text((bundled("recipes") / "gouge-o1-temper.toml").read_text(encoding="utf-8"))
    assert run(["plan", "mine.toml", "--oven", "my-oven"]) == 3
    assert "kilnctl recipe copy" in capsys.readouterr().err


def test_a_copy_differs_in_the_oven_alone(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["recipe", "copy", "gouge-o1-temper", "--oven", "my-oven"]) == 0
    said = capsys.readouterr().out
    before = (bundled("recipes") / "gouge-o1-temper.toml").read_text(encoding="utf-8")
    now = (shop / "gouge-o1-temper-my-oven.toml").read_text(encoding="utf-8")
    assert now == before.replace('oven = "tempering-oven"', 'oven = "my-oven"')
    assert '- oven = "tempering-oven"\n+ oven = "my-oven"' in said
    assert run(["plan", "gouge-o1-temper-my-oven.toml"]) == 0
    assert run(["recipe", "copy", "gouge-o1-temper", "--oven", "my-oven"]) == 2  # it is there already


def test_recipes_are_listed_and_checked(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (shop / "recipes").mkdir()
    (shop / "recipes" / "half.toml").write_text('name = "half"\n')
    assert run(["recipe", "list"]) == 0
    said = capsys.readouterr().out
    assert re.search(r"(?m)^half +wrong: half.toml", said)
    assert re.search(r"(?m)^gouge-o1-temper +O1: temper \(in tempering-oven\)", said)
    assert run(["recipe", "check", "gouge-o1-temper", "--oven", "my-oven"]) == 0
    assert "nothing against it" in capsys.readouterr().out
    assert run(["recipe", "check", "half"]) == 2
    assert capsys.readouterr().out == ""  # a refusal is one line on stderr, and nothing is said before it
