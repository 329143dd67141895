"""The readings of a survey against a card, and readings without a unit."""

import json

import pytest

from kilnctl.cli.main import run


def told(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert run(["figure", *words]) == 0
    return " ".join(capsys.readouterr().out.split())


def test_a_bare_reading_has_the_unit_of_the_setting(capsys: pytest.CaptureFixture[str]) -> None:
    readings = ("788", "795", "803", "799", "801")
    assert run(["figure", "survey", "800C", *readings, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["low_k"] == pytest.approx(-12.0)
    assert run(["figure", "survey", "1472F", "1454", "1472", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["low_k"] == pytest.approx(-10.0)
    assert run(["figure", "survey", "800", "788", "795"]) == 2  # the setting itself needs one


def test_the_cold_and_the_hot_place_are_held_against_the_card(capsys: pytest.CaptureFixture[str]) -> None:
    """O1 data sheets: harden at 790-815 °C, a UK guide 780-820; a temper of 205 °C gives 60-62 HRC."""
    found = told(capsys, "survey", "800C", "770", "795", "803", "799", "835", "--steel", "O1")
    assert "cold place 770 °C (1418 °F) to harden O1: TOO COLD by 10 K" in found
    assert "hot place 835 °C (1535 °F) to harden O1: TOO HOT, 15 K" in found
    found = told(capsys, "survey", "205C", "200", "205", "203", "206", "210", "--steel", "O1")
    assert "to temper O1: 60-62 HRC" in found
    assert "cold place" not in told(capsys, "survey", "205C", "200", "205")


def test_a_temper_says_how_much_softer_the_hot_place_is(capsys: pytest.CaptureFixture[str]) -> None:
    """O1 loses about 1 HRC from 200 to 220 °C (data sheets of O1)."""
    found = told(capsys, "survey", "205C", "195", "205", "203", "206", "220", "--steel", "O1")
    apart = float(found.split("hot is softer by ")[1].split()[0])
    assert 0.5 <= apart <= 2.5
    assert "hot is softer" not in told(capsys, "survey", "800C", "795", "805", "--steel", "O1")
