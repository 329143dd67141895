"""One floor for tempers at every door: 300 degF (149 degC), where the sheets of tool steel begin.

The 440C ladders: a maker's sheet (tempers 400-800 degF; 59 HRC as quenched and after 212 degF, 56 after
400 degF) and a dealer's (60 at 300 degF, 59 at 400, 57 at 500), both looked up. The rest is common practice.
"""

import json
from pathlib import Path

import pytest

from kilnctl.cli.main import run
from kilnctl.config.home import known
from kilnctl.errors import ProfileError
from kilnctl.treatment.steel.steels import load_steel
from kilnctl.treatment.steel.temper.temper_choice import temper_choice
from kilnctl.treatment.steel.temper.temper_floor import sound_rows
from kilnctl.treatment.steel.windows import temper_warnings

GRADES = sorted(known("steels"))


@pytest.mark.parametrize("grade", GRADES)
def test_no_goal_of_any_card_is_met_by_drying(grade: str) -> None:
    steel = load_steel(grade)
    for width, step in ((0.0, 1), (1.0, 3), (2.0, 3)):
        for half in range(80, 136, step):
            try:
                found = temper_choice(steel, (half / 2, half / 2 + width))
            except ProfileError:
                continue
            assert min(found.at_c, found.low_c) >= 149.0, f"{half / 2} HRC"


@pytest.mark.parametrize("grade", GRADES)
def test_a_written_temper_is_refused_or_warned_of_whatever_the_table_begins_with(grade: str) -> None:
    steel = load_steel(grade)
    with pytest.raises(ProfileError, match="too cold to temper"):
        temper_warnings("p", 110.0, steel, "temper")
    assert "little of the brittleness" in " ".join(temper_warnings("p", 142.0, steel, "temper"))
    assert "little of the brittleness" not in " ".join(temper_warnings("p", 150.0, steel, "temper"))


def test_a_ladder_that_begins_cold_begins_with_its_coolest_sound_temper() -> None:
    mill = next(t for t in load_steel("440C").temper_table if t.row[0].at_c == 100.0)
    assert sound_rows(mill)[0] == pytest.approx((149.0, 57.6, 57.6))  # 59 - 3 x 49 / 105, by hand


@pytest.mark.parametrize("goal", ["58-59", "58-62", "60"])
def test_440c_is_never_given_a_drying_heat(goal: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["figure", "temper", goal, "--steel", "440C", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["at_c"] >= 149.0
    assert run(["steel", "choose", goal, "--section", "3mm", "--furnace", "hardening-furnace"]) == 0
    assert "117 °C" not in capsys.readouterr().out


def test_the_two_sheets_of_440c_disagree_and_it_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["figure", "temper", "58-59", "--steel", "440C"]) == 0
    assert "sources differ" in " ".join(capsys.readouterr().out.split())


def test_a_figure_of_a_cold_temper_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    for words in (["hardness", "110C", "2h", "--steel", "440C"], ["equal", "200C", "1h", "120C"]):
        assert run(["figure", *words]) == 0
        assert "little of the brittleness" in " ".join(capsys.readouterr().out.split())


def test_a_profile_without_a_steel_is_warned_of_a_cold_temper(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "cold.toml"
    soak = 'kind = "soak"\nat = "110 C"\ntime = "2h"\npurpose = "temper"\n'
    path.write_text(f'name = "cold"\n[[segment]]\n{soak}', encoding="utf-8")
    assert run(["plan", str(path), "--oven", "tempering-oven"]) == 0
    assert "little of the brittleness" in " ".join(capsys.readouterr().out.replace("│", "").split())


def test_the_card_says_which_row_is_no_temper(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["steel", "show", "440C"]) == 0
    assert "59 (no temper)" in " ".join(capsys.readouterr().out.split())
