"""What a person read on a meter during the heater pulse decides whether all of the element heats.

Ohm's law: half of two equal elements side by side draws half the power.
"""

from types import SimpleNamespace

import pytest
from maker import Maker

from kilnctl.commissioning.metered_pulse import METER, by_meter
from kilnctl.commissioning.operator import Later
from kilnctl.commissioning.wizard import Result
from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.config.wiring import Number

OVEN = load_oven(home.bundled("ovens") / "tempering-oven.toml").model_copy(update={"supply_v": 230.0})
ROSE = Result(True, 15.7, "rose by 15.7 K")


def judged(*answers: str, oven=OVEN, result: Result = ROSE) -> tuple[Result, str]:
    maker, left = Maker(), list(answers)
    maker.ask = lambda question, needed=True: (maker.heard.append(question), left.pop(0))[1]
    return by_meter(SimpleNamespace(oven=oven, person=maker), result), maker.text


@pytest.mark.parametrize(
    ("read", "passes"),
    [("1150 W", True), ("1.1 kW", True), ("5,2 A", True), ("600 W", False), ("2.6 A", False)],
)
def test_half_an_element_is_found_by_a_meter_at_the_plug(read, passes):
    result, said = judged(read)
    assert result.passed is passes
    assert ("part of the element is dead" in said) is not passes
    assert result.value == ROSE.value


@pytest.mark.parametrize(("volts", "passes"), [("230 V", True), ("230", True), ("115 V", False), ("", True)])
def test_who_read_amperes_is_asked_for_the_volts_that_the_file_does_not_tell(volts, passes):
    """5.2 A were offered as an answer, and refused: "the oven file does not say the supply"."""
    oven = OVEN.model_copy(update={"supply_v": None})
    result, said = judged("5.2 A", "lots", volts, oven=oven)
    assert result.passed is passes
    assert "does not say the supply: give" not in said
    assert (result == ROSE) is (not volts)


def test_who_has_no_meter_presses_enter_and_what_cannot_be_read_is_asked_again():
    assert judged("")[0] == ROSE
    result, said = judged("lots", "1200 W")
    assert result.passed
    assert said.count(METER) == 2


def test_whoever_stops_at_the_meter_keeps_the_pulse():
    class Stops(Maker):
        def ask(self, question: str, needed: bool = True) -> str:
            raise Later

    assert by_meter(SimpleNamespace(oven=OVEN, person=Stops()), ROSE) == ROSE


def test_a_measured_current_or_a_failed_pulse_asks_nothing():
    place = OVEN.signal.process.model_dump(exclude_none=True, include={"device", "table"})
    amps = Number.model_validate({**place, "register": 7, "scale": 0.01, "low": 0.0, "high": 60.0})
    wired = OVEN.model_copy(update={"signal": OVEN.signal.model_copy(update={"current_a": amps})})
    assert judged(oven=wired)[0] == ROSE
    assert judged(result=Result(False))[0] == Result(False)
