"""When to temper after a quench (common practice, no single source): one rule, said of every card.

Tool steel sheets say 50-65 degC (O1); a strip maker's text lets stainless strip cool to room temperature.
"""

import pytest

from kilnctl.cli.main import run
from kilnctl.config.home import known
from kilnctl.treatment.steel.steels import load_steel
from kilnctl.treatment.steel.temper.temper_soon import temper_soon
from tests.trade_plans import FURNACE, planned

pytestmark = pytest.mark.usefixtures("own_home")
GRADES = sorted(known("steels"))
HARDEN = {"do": "harden", "oven": "hardening-furnace"}
TEMPER = {"do": "temper", "at": "205 C", "oven": "tempering-oven"}


def said(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert run(words) == 0
    return " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize("grade", GRADES)
def test_every_card_says_when(grade: str, capsys: pytest.CaptureFixture[str]) -> None:
    told = said(capsys, "steel", "show", grade)
    assert "Temper within the hour" in told
    assert "before it stands overnight" in told
    strip = grade in ("14C28N", "AEB-L", "12C27", "1.4034", "1.4116")
    assert ("hand-warm, 50-65 °C" in told) is not strip
    assert ("at room temperature" in temper_soon(load_steel(grade))) is strip


def test_a_choice_and_a_temper_say_so_too(capsys: pytest.CaptureFixture[str]) -> None:
    assert "emper within the hour" in said(capsys, "steel", "choose", "60")
    for metal in (("--steel", "1084"), ("--carbon", "0.75")):
        told = said(capsys, "figure", "temper", "58", *metal)
        assert "within the hour, hand-warm: 50-65 °C (122-149 °F), never overnight" in told


@pytest.mark.parametrize(("grade", "when"), [("O1", "hand-warm, 50-65"), ("AEB-L", "at room temperature")])
def test_a_plan_says_it_of_its_steel(grade: str, when: str) -> None:
    hotter = FURNACE.model_copy(update={"limit_c": 1200.0})
    notes = " ".join(planned(grade, HARDEN, TEMPER, oven=hotter).notes)
    assert "temper within the hour" in notes
    assert when in notes
