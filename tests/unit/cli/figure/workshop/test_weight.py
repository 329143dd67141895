"""figure weight at the command line: pieces, prices, and sizes that do not go with their shape."""

import json

import pytest

from kilnctl.cli.main import run

pytestmark = pytest.mark.usefixtures("own_home")


def test_pieces_weigh_and_cost_together(capsys: pytest.CaptureFixture[str]) -> None:
    """300 x 40 x 6 mm is 72 cm3, at 7.85 kg/L 565 g."""
    asked = ("figure", "weight", "300mm", "40mm", "6mm", "--pieces", "4", "--price", "5", "--json")
    assert run(asked) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["one_kg"] == pytest.approx(0.5652)
    assert said["cost"] == pytest.approx(4 * 0.5652 * 5)


def test_a_wrong_number_of_sizes_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(("figure", "weight", "300mm", "20mm", "6mm", "--shape", "round")) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_sizes_may_stand_in_one_word(capsys: pytest.CaptureFixture[str]) -> None:
    for words in (("300x40x6mm",), ("300mm x 40mm x 6mm",), ("30 cm", "4 cm", "0.6 cm")):
        assert run(("figure", "weight", *words, "--json")) == 0
        assert json.loads(capsys.readouterr().out)["one_kg"] == pytest.approx(0.5652)
    assert run(("figure", "weight", "300x40x6")) == 2
