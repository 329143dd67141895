"""A steel and a heat in one question: which number is which, and where the heat lies by the card."""

import pytest

from kilnctl.cli.main import run


def first(capsys: pytest.CaptureFixture[str], asked: str) -> str:
    assert run(["guide", *asked.split()]) == 0
    return capsys.readouterr().out.split("\n\n")[0]


@pytest.mark.parametrize(
    "asked",
    [
        "can I heat O1 at 1080",
        "O1 set to 1080",
        "what happens if O1 goes to 1080",
        "O1 1080 degrees",
        "is 1080 too hot for O1",
        "harden O1 at 1080 °C",
        "my O1 blade was at 1080C",
    ],
)
def test_a_number_that_is_also_a_grade_is_a_heat_after_at_and_before_degrees(
    asked: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """A blind examiner was told that O1 and 1080 harden alike, and not that 1080 °C burns O1's grain.

    O1 data sheets: 790-815 °C (1450-1500 °F).
    """
    told = first(capsys, asked)
    assert "1080 °C (1976 °F) to harden O1: TOO HOT" in told
    assert "alike" not in told
    assert "ground-stock guide for O1" in told  # the source


def test_what_is_taken_for_a_heat_is_said_with_how_to_ask_for_the_steel(
    capsys: pytest.CaptureFixture[str],
) -> None:
    told = first(capsys, "can I heat O1 at 1080")
    assert "1080 is taken for a heat" in told
    assert "`kilnctl guide 1080 and O1`" in told
    assert "alike" in first(capsys, "1080 and O1")


def test_a_bare_number_is_read_both_ways(capsys: pytest.CaptureFixture[str]) -> None:
    told = first(capsys, "AEB-L at 1080")
    assert "1080 read as °C, 1080 °C (1976 °F) to harden AEB-L: inside" in told
    assert "1080 read as °F, 582 °C (1080 °F) to temper AEB-L" in told


def test_in_doubt_both_are_answered(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["guide", "14C28N", "1095"]) == 0
    told = capsys.readouterr().out
    assert "1095 may be the steel or a heat; both are answered." in told
    assert "1095 °C (2003 °F) to harden 14C28N" in told
    assert "The card of 1095" in told


@pytest.mark.parametrize(
    "asked", ["what heat for 1084 and 15N20 damascus", "can O1 and 1080 go in together", "1095 or O1?"]
)
def test_two_steels_that_are_joined_stay_two_steels(asked: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert "one load" in (told := first(capsys, asked)) or "alike" in told


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ("O1 800 C", "800 °C (1472 °F) to harden O1: inside the card's 780"),
        ("quenched O1 from 1900F", "1038 °C (1900 °F) to harden O1: TOO HOT"),
        ("I quenched O1 from 700 C", "to harden O1: TOO COLD by 80 K"),
        ("normalise W2 at 1650 F", "to normalise W2: inside the card's 870"),
        ("normalise 1084 at 1000 C", "to normalise 1084: TOO HOT"),
        ("normalise A2 at 900 C", "to normalise A2: DO NOT"),
        ("anneal O1 at 600 C", "to anneal O1: TOO COLD by 60 K"),
        ("anneal O1 at 767 C", "full 775-790 °C (O1 data sheet"),
        ("temper O1 at 400 F", "204 °C (400 °F) to temper O1: 60-62 HRC by O1 sheets"),
        ("is 750 C right to temper O1", "to temper O1: TOO HOT: austenite starts"),
        ("temper O1 at 120 C", "to temper O1: TOO COLD"),
        ("AEB-L tempered at 500C", "AVOID 450-600 °C"),
        ("harden 1084 at 1500", "1500 read as °F, 816 °C (1500 °F) to harden 1084: inside"),
        ("harden O1 at 800 C and temper at 200 C", "200 °C (392 °F) to temper O1"),
        ("harden O1 at 1450-1500 F", "788 °C (1450 °F) to harden O1: inside"),
    ],
)
def test_a_steel_and_a_heat_bring_the_comparison_with_the_card(
    asked: str, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert says in first(capsys, asked)


@pytest.mark.parametrize("asked", ["K couple at 1080 C", "quench O1 in oil at 60 C", "sand O1 with 400 grit"])
def test_a_heat_that_is_no_steels_is_held_against_no_card(
    asked: str, capsys: pytest.CaptureFixture[str]
) -> None:
    told = first(capsys, asked)
    assert "TOO" not in told
    assert "inside the card's" not in told
