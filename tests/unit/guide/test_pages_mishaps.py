"""A third examiner's bench questions, written before the guide was seen: mishaps, odd parts, wires and mains.

Facts: hot firebrick leaks current to earth, and residual-current devices trip for it (a kiln maker's page on
ground-fault breakers; from 925 degC it is marked); scissors of 54 to 62 HRC (sharpeners' and sellers' pages);
axes of 53 to 58 HRC at the bit (a forest service's purchase specification, as quoted in a forum); types K, N,
J and S by NIST ITS-90. The rest is common practice, no single source.
"""

import pytest

from kilnctl.guide.search import search

# Question: what the first three passages (of the four that are printed) must say between them.
MISHAPS = {
    "my blade cracked in the water": ("scrap", "eyes", "corner"),
    "I heard a tink in the quench": ("scrap", "eyes"),
    "I put the cold part straight into the hot furnace without preheat": ("soak counts", "crack"),
    "I put the blade in the temper oven while it was still 150 C": ("hand-warm", "again"),
    "oven door stood ajar in the temper": ("not tempered", "whole soak", "bridge"),
    "foil split blade came out black": ("gloves", "figure skin", "anneal"),
    "plane iron bowed after the quench straighten": ("face shield", "clamp"),
    "power cut in the second temper": ("temper", "hotter"),
    "the terminal melted and the cable insulation is brown": ("tape", "isolator", "bright metal"),
    "brown terminal": ("tape", "isolator"),
    "burnt plug": ("tape", "isolator"),
    "RCD trips when the furnace warms up": ("bridge", "earth", "electrician"),
    "GFCI trips": ("bridge", "electrician"),
    "output off but temperature still climbs": ("isolator", "relay"),
    "SSR failed closed": ("isolator", "heat sink"),
    "reading goes down as the furnace heats": ("heat off", "swap"),
    "thermocouple reversed": ("heat off", "swap"),
    "controller set to type K but the couple is type N": ("low", "heat off"),
    "wrong thermocouple type": ("low", "heat off"),
    "fuse blows": ("larger", "electrician"),
    "electric shock": ("isolator", "before you touch", "emergency"),
    "burn on my hand hot steel": ("running water", "ring"),
    "scale got in my eye": ("rub", "hospital"),
    "gas forge flame goes out": ("gas off", "air"),
    "sensor fell out of the furnace": ("full heat", "heat off"),
    "thermocouple broke during the hardening": ("heat off",),
    "element broke": ("isolator", "live"),
    "I dropped the blade between furnace and oil": ("normalise", "bare hands"),
    "furnace overshot to 900 with 1084 inside": ("grain",),
    "my magnet still sticks at 760": ("reading is wrong",),
    "edge is wavy after the quench": ("clamp",),
    "twist": ("clamp",),
}
ODD = {
    "san-mai": ("core", "cladding"),
    "san mai warps in the quench": ("jacket", "alike"),
    "laminated blade delaminates": ("weld", "scrap"),
    "weld a new tang on a hardened knife": ("crack", "anneal"),
    "silver solder": ("cadmium", "fluoride"),
    "may I weld a crack shut": ("never weld",),
    "old file into a knife": ("teeth", "shatters"),
    "used leaf spring": ("fatigue", "coupons"),
    "different steels in one tempering load": ("same heat", "soften"),
    "front of the furnace is colder than the back": ("survey", "coldest"),
    "five knives at once": ("on edge",),
    "scissors": ("54-60", "both halves"),
    "axe head bit poll eye": ("53-58", "poll"),
    "drawknife": ("57-60",),
    "rockwell": ("three",),
    "rockwell thin blade how many dents from the edge": ("three", "figure scale"),
    "check my thermocouple at home": ("ice", "boiling"),
    "bought under two names": ("other name", "coupon"),
}


@pytest.mark.parametrize("question", [*MISHAPS, *ODD])
def test_the_first_three_passages_say_what_to_do(question: str) -> None:
    told = " ".join(passage.told() for passage in search(question.split())[:3]).lower()
    missing = [word for word in {**MISHAPS, **ODD}[question] if word.lower() not in told]
    assert missing == []


@pytest.mark.parametrize(
    ("one", "many"),
    [("knife", "knives"), ("drawknife", "drawknives"), ("leaf", "leaves"), ("half", "halves")],
)
def test_one_and_many_find_the_same(one: str, many: str) -> None:
    """English makes knives of a knife, which no stemmer of plain endings knows."""
    assert search([one])
    assert {passage.text for passage in search([one])} == {passage.text for passage in search([many])}
