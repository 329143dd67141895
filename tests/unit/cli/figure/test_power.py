"""figure power at the command line: several heaters on one circuit, and what bears them."""

import json

import pytest

from kilnctl.cli.main import run

pytestmark = pytest.mark.usefixtures("own_home")


@pytest.mark.parametrize(
    ("words", "together_a", "said"),
    [
        (("2400 W", "230 V", "--beside", "1000 W"), 14.78, "10 A NO; 13 A NO; 16 A not for hours; 20 A yes"),
        (("1200 W", "230 V", "--beside", "1000 W"), 9.57, "10 A not for hours; 13 A yes; 16 A yes"),
        (
            ("1200 W", "120 V", "--beside", "5 A", "--beside", "600 W"),
            20.0,
            "16 A NO; 20 A not for hours; 32 A yes",
        ),
    ],
)
def test_heaters_on_one_circuit_are_added(
    words: tuple[str, ...], together_a: float, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Currents of resistive loads add up (Kirchhoff); a load of hours wants a quarter more (NFPA 70)."""
    assert run(("figure", "power", *words, "--json")) == 0
    assert json.loads(capsys.readouterr().out)["together_a"] == pytest.approx(together_a, abs=0.01)
    assert run(("figure", "power", *words)) == 0
    assert said in " ".join(capsys.readouterr().out.split())


def test_a_second_heater_that_cannot_be_read_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(("figure", "power", "2400 W", "230 V", "--beside", "big")) == 2
    assert capsys.readouterr().err.count("\n") == 1
