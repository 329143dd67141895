"""figure soak at the command line: the card's soak, by thickness where its sheet counts so."""

import json

import pytest

from kilnctl.cli.main import run

pytestmark = pytest.mark.usefixtures("own_home")


@pytest.mark.parametrize(
    ("words", "low_min", "high_min"),
    [
        (("6mm", "--steel", "O1"), 20, 45),
        (("50.8mm", "--steel", "O1"), 30, 60),  # 30 min an inch, two inches
        (("1/4 in", "--steel", "W2"), 5, 10),
    ],
)
def test_a_soak_is_the_card_s_and_grows_with_the_section(
    words: tuple[str, ...], low_min: float, high_min: float, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(("figure", "soak", *words, "--json")) == 0
    said = json.loads(capsys.readouterr().out)
    assert (said["soak_low_s"], said["soak_high_s"]) == (60.0 * low_min, 60.0 * high_min)


def test_foil_is_through_later(capsys: pytest.CaptureFixture[str]) -> None:
    times = []
    for surface in ("bare", "foil"):
        assert run(("figure", "soak", "6mm", "--steel", "D2", "--surface", surface, "--json")) == 0
        times.append(json.loads(capsys.readouterr().out)["through_s"])
    assert times[1] > 1.2 * times[0]


def test_a_steel_that_wants_foil_says_so_bare_and_a_sheet_keeps_its_note(
    capsys: pytest.CaptureFixture[str],
) -> None:
    for surface, warned in (("bare", True), ("foil", False)):
        assert run(("figure", "soak", "3mm", "--steel", "AEB-L", "--surface", surface)) == 0
        said = " ".join(capsys.readouterr().out.split())
        assert ("foil, or a coating" in said) is warned
        assert "3 min [1.0 mm strip of the sister grade, oil]" in said


@pytest.mark.parametrize(("thick", "minutes"), [("2.5mm", 5), ("3mm", 6), ("3.25mm", 7), ("4mm", 12)])
def test_a_sheet_that_counts_by_thickness_leads(
    thick: str, minutes: float, capsys: pytest.CaptureFixture[str]
) -> None:
    """AEB-L: the mill's table for its sister grade, total time in a furnace at 1080 °C."""
    assert run(("figure", "soak", thick, "--steel", "AEB-L")) == 0
    lines = capsys.readouterr().out.splitlines()
    assert f"{minutes} min from shutting the door, at 1080 °C" in " ".join(lines[1].split())
    assert any(line.strip().startswith("in all") for line in lines)


def test_beyond_its_rows_no_sheet_is_stretched(capsys: pytest.CaptureFixture[str]) -> None:
    for thick, said in (("5mm", None), ("2mm", 300.0)):
        assert run(("figure", "soak", thick, "--steel", "AEB-L", "--json")) == 0
        assert json.loads(capsys.readouterr().out)["by_its_sheet_s"] == said
