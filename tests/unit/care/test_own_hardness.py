"""The shop's own results from its logbook into plan and figure, through the commands."""

import json
from pathlib import Path

import pytest

from kilnctl.cli.main import run
from kilnctl.logbook import entries
from kilnctl.logbook.records import RunHeader
from kilnctl.logbook.writer import Logbook

PROFILE = """
name = "temper"
steel = "O1"
section = "3.5 mm"
parts = [{parts}]
[[segment]]
kind = "soak"
purpose = "temper"
clock = "part"
at = "{at} C"
time = "4h"
"""


def heat(book: Logbook, at_c: float, parts: list[str], utc_s: float, simulated: bool = False) -> None:
    text = PROFILE.format(at=at_c, parts=", ".join(f'"{p}"' for p in parts))
    head = {"oven": "o", "oven_file": "", "profile": text, "profile_name": "temper", "started_utc": utc_s}
    number = book.start_run(RunHeader(**head, steel="O1", part="batch", simulated=simulated))
    book.finish(number, "complete", {}, utc_s + 60.0)


def keep_test(book: Logbook, part: str, hrc: float, utc_s: float, bare: bool = True) -> None:
    test = entries.Hardness(part, "tester", hrc, hrc, "", readings=(hrc,), bare_metal=bare)
    entries.add(book, test, utc_s)


@pytest.fixture
def shop(own_home: Path) -> Path:
    """Five gouges 2 HRC softer than the table of O1 says, one far off, one tested on scale, one simulated."""
    with Logbook(own_home / "logbook.sqlite") as book:
        heat(book, 205.0, ["g1", "g2", "g6"], 1000.0)
        heat(book, 220.0, ["g3", "g4", "g5", "g7"], 2000.0)
        heat(book, 205.0, ["sim"], 3000.0, simulated=True)
        for part, hrc in (("g1", 59.0), ("g2", 58.8), ("g3", 58.9), ("g4", 59.2), ("g5", 58.7)):
            keep_test(book, part, hrc, 9000.0)
        keep_test(book, "g7", 50.0, 9000.0)
        keep_test(book, "g6", 30.0, 9000.0, bare=False)
        keep_test(book, "sim", 66.0, 9000.0)
    return own_home


@pytest.mark.usefixtures("shop")
def test_figure_puts_the_shops_own_answer_first_and_names_the_odd_one(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["figure", "temper", "60", "--steel", "O1", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["own_results"] == 5
    assert told["own_at_c"] < told["at_c"] - 10.0  # a softer shop tempers cooler
    assert any(text.startswith("g7") for text in told["beware"])
    assert run(["figure", "temper", "60", "--steel", "O1"]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "5 own results, 10 rows of the card's tables" in shown


@pytest.mark.usefixtures("shop")
def test_plan_tempers_by_the_own_results_and_shows_the_table_beside(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    recipe = tmp_path / "r.toml"
    recipe.write_text(
        'name = "r"\nsteel = "O1"\nsection = "3 mm"\ngoal_hrc = 60\noven = "tempering-oven"\n'
        '[[treatment]]\ndo = "temper"\n'
    )
    assert run(["plan", str(recipe), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    soak = next(row for row in told["rows"] if row["kind"] == "soak")
    assert "own results" in soak["why"]
    assert "by the table" in soak["why"]
    assert soak["goal_c"] < 205.0
    assert any("g7" in note for note in told["notes"])


@pytest.mark.usefixtures("own_home")
def test_without_results_the_table_alone_answers(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["figure", "temper", "60", "--steel", "O1", "--json"]) == 0
    assert "own_at_c" not in json.loads(capsys.readouterr().out)


def test_a_test_says_whether_it_moves_an_answer(own_home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with Logbook(own_home / "logbook.sqlite") as book:
        heat(book, 205.0, ["gouge-1"], 1000.0)
        heat(book, 205.0, ["gouge-2"], 2000.0, simulated=True)
    for part, bare, said in (
        ("gouge-1", ["--bare-metal"], "1 of your results of O1 count"),
        ("gouge-1", [], "Left out: gouge-1: not on bare metal"),
        ("gouge-2", ["--bare-metal"], "no real heat of gouge-2"),
    ):
        assert run(["part", "test", part, "--readings", "60.5, 61", *bare]) == 0
        assert said in capsys.readouterr().out
    assert run(["part", "test", "gouge-1", "--readings", "60", "--run", "99"]) == 2
    assert "no run 99" in capsys.readouterr().err


@pytest.mark.usefixtures("shop")
def test_figure_hardness_puts_the_shops_own_answer_first(capsys: pytest.CaptureFixture[str]) -> None:
    """Five gouges near 59 HRC at 205 and 220 degC: the table alone says 60 to 62 at 205."""
    assert run(["figure", "hardness", "205C", "4h", "--steel", "O1", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert 58.0 < told["own_hrc"] < 60.5 <= told["high_hrc"]
    assert run(["figure", "hardness", "205C", "4h", "--steel", "O1"]) == 0
    said = capsys.readouterr().out
    assert said.index("your own") < said.index("expect")


def test_an_own_answer_in_a_band_to_avoid_says_so(own_home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """1084 keeps out of 230 to 370 degC; a shop that measures 62 at 204 degC needs more for 60 HRC."""
    with Logbook(own_home / "logbook.sqlite") as book:
        for n in range(3):
            text = PROFILE.replace('"O1"', '"1084"').format(at=204.0, parts=f'"k{n}"')
            head = {"oven": "o", "oven_file": "", "profile": text, "profile_name": "t", "started_utc": n}
            number = book.start_run(RunHeader(**head, steel="1084", part="batch", simulated=False))
            book.finish(number, "complete", {}, n + 60.0)
            keep_test(book, f"k{n}", 62.0, 9000.0)
    assert run(["figure", "temper", "60", "--steel", "1084"]) == 0
    assert "AND YOUR OWN ANSWER LIES IN IT" in " ".join(capsys.readouterr().out.split())


@pytest.mark.usefixtures("shop")
def test_a_file_that_bites_is_one_that_cuts(capsys: pytest.CaptureFixture[str]) -> None:
    """The page of coupons says "bites": the same word is read where a file test is kept."""
    assert run(["part", "test", "g1", "--files", "60 skates, 65 bites", "--bare-metal"]) == 0
    assert "60" in capsys.readouterr().out


def test_two_results_are_shown_but_move_nothing_yet(
    own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with Logbook(own_home / "logbook.sqlite") as book:
        heat(book, 205.0, ["g1", "g2"], 1000.0)
        for part in ("g1", "g2"):
            keep_test(book, part, 59.0, 9000.0)
    assert run(["figure", "temper", "60", "--steel", "O1"]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "59.0 HRC after 205 °C" in shown
    assert "not used yet, your own results count from 3 on" in shown
