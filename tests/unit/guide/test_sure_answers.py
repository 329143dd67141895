"""What a blind examiner asked and was told wrongly: drift for accuracy, an open door for a power cut.

The margin under an oil's flash point is the code's own, held to it here; the rest is common practice.
"""

import pytest

from kilnctl.guide.search import bare, search
from kilnctl.guide.sure_answers import sure_answer
from kilnctl.treatment.steel.quenching import FLASH_MARGIN_K

COUPLE = "How far off can 830 °C be with ordinary K wire?"
FIRST = {
    "How accurate is a type K": COUPLE,
    "how far off may a K couple be": COUPLE,
    "how many degrees can my thermocouple be wrong": COUPLE,
    "my probe reads 96 in boiling water": "Where does water boil at 650 m?",
    "water boils but the sensor says 95": "Where does water boil at 650 m?",
    "power cut in the soak": "anything that austenitises",
    "power was out for ten minutes in the soak, furnace fell to 700": "anything that austenitises",
    "the lights went out while the blade soaked at 800": "anything that austenitises",
    "the temperature is all over the place": "it overshoots, swings or hunts",
    "my other controller oscillates": "it overshoots, swings or hunts",
    "warm canola 1095": "rapeseed and other vegetable oil",
    "can I quench 1095 in canola": "rapeseed and other vegetable oil",
}
NOT_SURE = (
    "my reading differs by 12 degrees since last month",
    "does a type K drift after many hours",
    "power cut while tempering",
    "power went out, the door stood open in the soak",
    "power off before I open the case",
    "the door stood open in the soak",
    "how far off is my infrared thermometer",
    "boiling water quench",
    "the hardness is all over the place",
    "my temper swings up and down",
    "the door swings open",
)
TOLD = {
    "oven oscillates": ("relay window", "less gain"),
    "which temper do I try first, go up a ladder": (
        "cool end",
        "cannot be undone",
        "two tempers of two hours",
    ),
    "my oil has a flash point of 170": (f"{FLASH_MARGIN_K:.0f} K",),
    "what flash point do I need": (f"{FLASH_MARGIN_K:.0f} K",),
}


@pytest.mark.parametrize("question", FIRST)
def test_what_is_asked_for_comes_first(question: str) -> None:
    assert bare(search(question.split())[0].text).startswith(FIRST[question])


@pytest.mark.parametrize("question", [one for one in FIRST if FIRST[one].startswith("anything")])
def test_a_power_cut_has_one_answer(question: str) -> None:
    """The row of the open door said: let it go on; the power-cut row says: never."""
    assert not any("door stood open" in passage.text for passage in search(question.split()))


@pytest.mark.parametrize("question", NOT_SURE)
def test_a_question_that_is_like_it_is_left_to_the_search(question: str) -> None:
    assert sure_answer(question) is None


@pytest.mark.parametrize("question", TOLD)
def test_the_first_two_passages_say_it(question: str) -> None:
    told = " ".join(passage.told() for passage in search(question.split())[:2])
    assert [words for words in TOLD[question] if words not in told] == []
