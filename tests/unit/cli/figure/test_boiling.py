"""What a sensor reads in boiling water and in ice: type K class 2 is ± 2.5 K there (IEC 60584-1)."""

import json

import pytest

from kilnctl.cli.main import run


def told(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert run(["figure", "boiling", *words]) == 0
    return " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--pressure", "1013.25", "--reads", "101.9 C"), "reads 1.9 K (3.5 °F) high: INSIDE"),
        (("--pressure", "1013.25", "--reads", "96.0 C"), "reads 4.0 K (7.2 °F) low: OUTSIDE"),
        (("--pressure", "1013.25", "--reads", "101.9 C", "--couple", "k", "--wire", "class 1"), "OUTSIDE"),
        (("--pressure", "1013.25", "--reads", "100.4 C", "--couple", "pt100"), "high: INSIDE"),
        (("--height", "0 m", "--reads", "102.2 C"), "NOT SURE, the weather decides"),
        (("--height", "650 m", "--ice", "0.6 C"), "in ice reads 0.6 K (1.1 °F) high: INSIDE"),
        (("--height", "650 m", "--ice", "-3 C"), "in ice reads 3.0 K (5.4 °F) low: OUTSIDE"),
    ],
)
def test_it_says_how_far_off_and_whether_the_class_allows_it(
    words: tuple[str, ...], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert says in told(capsys, *words)


def test_the_numbers_of_it(capsys: pytest.CaptureFixture[str]) -> None:
    """Water boils at 99.97 °C at 1013.25 hPa (IAPWS R7-97)."""
    words = ("--pressure", "1013.25", "--reads", "98.0 C", "--ice", "0.6 C", "--json")
    assert run(["figure", "boiling", *words]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["water_off_k"] == pytest.approx(-1.97, abs=0.01)
    assert found["water_limit_k"] == pytest.approx(2.5)
    assert found["ice_off_k"] == pytest.approx(0.6)
