"""A part that was hardened too hot is told what can be done for it: austenite turns, a coarse grain does not.

D2: a published article on its mishaps (each temper decomposes half of the retained austenite); a die-set
maker's page of 1.2379 has 1060-1080 degC with three tempers at the secondary hardening. The rest is common
practice.
"""

import pytest

from kilnctl.cli.main import run
from kilnctl.treatment.steel.overheated import overheated_words, remedies
from kilnctl.treatment.steel.steels import load_steel


def said(grade: str) -> str:
    return " ".join(what for _, what in remedies(load_steel(grade)))


def test_d2_is_tempered_at_its_secondary_hardening_and_a_stainless_is_not() -> None:
    assert "510 °C (950 °F) to 540 °C" in said("D2")
    assert "510 °C" not in said("440C")  # its sheet: 425-595 °C spoils toughness and corrosion resistance
    assert "510 °C" not in said("O1")


@pytest.mark.parametrize(("grade", "first"), [("D2", "anneal"), ("440C", "anneal"), ("1084", "normalise")])
def test_a_coarse_grain_begins_anew(grade: str, first: str) -> None:
    assert f"{first} " in said(grade)
    assert "no temper and no cold" in said(grade)


def test_the_excess_is_told_and_a_burnt_edge() -> None:
    assert "96 K above" in overheated_words(load_steel("D2"), 1121.0)  # 1121 - 1025, the card's top
    assert "burnt" in overheated_words(load_steel("1084"), 1300.0)


def test_the_question_of_the_bench_is_answered_not_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["figure", "quenched", "2050F", "--steel", "D2"]) == 0
    told = " ".join(capsys.readouterr().out.split())
    for words in ("much austenite stays", "cold within hours", "two or three times", "coupon"):
        assert words in told


@pytest.mark.parametrize(
    ("heat", "grade", "says"),
    [
        ("840C", "1095", "25 K above"),  # its card: retained austenite from 815 °C, the grain grows from 830
        ("820C", "1095", "the grain begins to grow"),
        ("860C", "1084", "the grain is coarse"),  # not above 1500 °F (815 °C): data pages
        ("840C", "W1", "25 K above"),
        ("840C", "W2", "though one of its sources goes to 845 °C"),
        ("1060C", "440C", "much austenite stays"),  # top of the mill's sheet 1040
    ],
)
def test_too_hot_is_what_the_card_itself_calls_so(
    heat: str, grade: str, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["figure", "quenched", heat, "--steel", grade]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert says in told
    assert "mishap" in told


def test_what_can_be_computed_is_computed_still(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["figure", "quenched", "800C", "--steel", "1095"]) == 0
    assert "mishap" not in capsys.readouterr().out
