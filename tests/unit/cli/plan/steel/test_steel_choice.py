"""steel choose at the command line: its table, its refusals, its JSON."""

import json

import pytest

from kilnctl.cli.main import run

pytestmark = pytest.mark.usefixtures("own_home")


def test_each_steel_is_either_offered_or_told_why_not(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(("steel", "choose", "58-60", "--quench", "medium oil", "--use", "knife")) == 0
    out = capsys.readouterr().out
    assert "- 1084: wants fast oil (up to 6.35 mm) or water or brine" in out
    assert "52100" in out.split("- ")[0]  # "knife" is found in "knives"
    assert max(map(len, out.splitlines())) <= 80


def test_an_oven_that_is_too_cold_says_how_far_it_goes(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(("steel", "choose", "60", "--furnace", "tempering-oven", "--json")) == 0
    told = json.loads(capsys.readouterr().out)
    assert not any(steel["fits"] for steel in told["steels"])
    assert all("the furnace can do" in steel["in_the_way"][0] for steel in told["steels"])


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("75",), '"75" is not a hardness in HRC (20 to 70)'),
        (("60", "--quench", "milk"), '"milk" is not a quench; there is water, brine, oil'),
        (("60", "--use", "spoon"), 'no card says "spoon" of its use'),
        (("60", "--section", "-3mm"), '"-3mm" is not the thickness of a part'),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(
    words: tuple[str, ...], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(("steel", "choose", *words)) in (2, 3)
    assert said in capsys.readouterr().err


def test_no_window_reaches_above_what_its_card_calls_too_hot(capsys: pytest.CaptureFixture[str]) -> None:
    """1084: hobby makers go to 870 °C, the data pages say not above 815 °C (1500 °F)."""
    assert run(("steel", "choose", "60", "--json")) == 0
    heats = {s["grade"]: s["austenitise_c"] for s in json.loads(capsys.readouterr().out)["steels"]}
    assert heats["1084"] == [800.0, 815.0]


def test_a_steel_that_stays_soft_in_vegetable_oil_says_so_in_its_row(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """1095, W1 and W2 want a faster bath (common practice, no single source); 52100 hardens in slower oil."""
    assert run(("steel", "choose", "60", "--section", "3mm", "--quench", "vegetable oil", "--json")) == 0
    mind = {s["grade"]: s["mind"] for s in json.loads(capsys.readouterr().out)["steels"] if s["fits"]}
    for grade in {"1095", "W1", "W2"} & set(mind):
        assert any("stay soft in vegetable oil" in said for said in mind[grade])
    assert "1095" in mind
    assert not any("stay soft" in said for said in mind["52100"])
