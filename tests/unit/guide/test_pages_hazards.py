"""The hazards of the bench are found by the words of somebody in need, and the page says what to do.

Facts: metal fume fever begins hours later (American Welding Society, fact sheet 25); fuel gas needs a chamber
above 760 degC (NFPA 86); the colours of thermocouple wires as sensor makers print IEC 60584-3, ASTM E230,
BS 1843, DIN 43710 and JIS C 1610; survey classes of AMS 2750; an element maker's conditioning at 1050 degC.
The rest is common practice.
"""

import pytest

from kilnctl.guide.pages import page
from kilnctl.guide.search import search


@pytest.mark.parametrize(
    ("asked", "topic"),
    [
        ("a galvanised bolt was in the oven", "before-the-heat"),
        ("cadmium", "before-the-heat"),
        ("chrome plated spanner", "before-the-heat"),
        ("may I touch the element with tongs", "before-the-heat"),
        ("does an SSR leak", "before-the-heat"),
        ("fire", "the-oil-burns"),
        ("the oil is burning", "the-oil-burns"),
        ("which extinguisher", "the-oil-burns"),
        ("argon", "other-ways"),
        ("nitrogen into the oven", "other-ways"),
        ("propane", "other-ways"),
        ("the colours of thermocouple wires", "look-after-an-oven"),
        ("a new element", "look-after-an-oven"),
        ("how do I make a survey", "look-after-an-oven"),
        ("the door stood open in the soak", "when-it-went-wrong"),
    ],
)
def test_a_question_in_need_leads_to_its_page(asked: str, topic: str) -> None:
    assert topic in {found.topic for found in search([asked])[:3]}


@pytest.mark.parametrize(
    ("topic", "words"),
    [
        ("before-the-heat", ("hours later fever", "kill days later", "to a hospital", "one touch can kill")),
        ("before-the-heat", ("a contactor in both poles", "mushroomed head")),
        (
            "the-oil-burns",
            ("half in", "metal lid", "class B", "F in Europe", "call the fire service", "never"),
        ),
        ("other-ways", ("760 °C", "carbon monoxide", "displaces the air", "oxygen alarm")),
        ("look-after-an-oven", ("| brown, blue |", "red is plus", "green, white", "Warm the tip")),
        ("look-after-an-oven", ("30 minutes", "±3, 6, 8, 10, 14 and 28 K", "overshoot")),
        ("look-after-an-oven", ("1050 °C", "brittle when cold")),
        ("when-it-went-wrong", ("The door stood open", "720 °C", "plated or painted")),
        ("own-oven", ("A relay is no isolator", "signal.door_open")),
    ],
)
def test_the_page_says_what_it_does_and_what_to_do(topic: str, words: tuple[str, ...]) -> None:
    text = page(topic).text()
    assert [word for word in words if word not in text] == []
