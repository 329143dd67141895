"""A fourth examiner's questions: when to temper, finished parts, struck ends, files, sparks, the cold.

Facts: a file of 62 HRC cuts 60 and no longer 64, pushed with 4.5 to 5.5 kg (SAE J864, as a laboratory tells
it); a stress temper 50 degF under the last temper (a tool-steel heat treater's page); first aid for burns as
it is taught everywhere. The rest is common practice, no single source.
"""

import re

import pytest

from kilnctl.guide.pages import page, pages
from kilnctl.guide.search import search

# Question: what the first three passages (of the four that are printed) must say between them.
ASKED = {
    "when must I temper after the quench": ("within the hour", "50 to 65", "overnight"),
    "how long can I wait before tempering": ("within the hour",),
    "hardness files": ("skates", "bites", "between", "2 to 3 HRC", "worn"),
    "spark test unknown steel": ("carbon", "roughly", "coupons"),
    "stress relief of a finished blade": ("10 to 25 K", "last temper", "ruins"),
    "relieve a hardened blade after grinding": ("10 to 25 K",),
    "how do I keep the struck end of a punch soft": ("edge =", "water", "below 45"),
    "cold chisel head": ("below 45", "water"),
    "re-temper an axe": ("handle off", "crack", "whole head"),
    "repair an axe head": ("handle off",),
    "make a knife from an old file without annealing": ("hard all through", "180 to 230", "twice"),
    "hot oil burn on my arm": ("unless it sticks", "cling film", "running water"),
    "oil splashed on my clothes": ("unless it sticks",),
    "how do I fold a foil packet": ("air out", "sharp fold"),
    "how hot is a snap temper": ("150 °C", "hour", "lower end"),
    "my blade cracked in the cold treatment": ("room temperature", "slowly", "martensite", "O1"),
    "is a cold treatment worth it for O1": ("O1",),
    "carbon monoxide forge in a closed garage": ("CO alarm", "closed"),
    "how deep is decarb after 20 min at 850 C without foil": ("figure skin",),
    "eight blades at once when does the soak start": ("soak", "at heat", "one solid"),
    "1084 bar how do I soften it": ("anneal",),
    "which steel for a first kitchen knife": ("steel choose", "1084"),
    "D2 is still soft after the quench the file bites": ("anneal, never normalise",),
    "my oil gets too warm for its band": ("80 °C",),
}


@pytest.mark.parametrize("question", ASKED)
def test_the_first_three_passages_say_what_to_do(question: str) -> None:
    told = " ".join(passage.told() for passage in search(question.split())[:3])
    told = " ".join(told.lower().split())
    assert [word for word in ASKED[question] if word.lower() not in told] == []


def test_no_passage_that_says_normalise_again_leaves_air_hardening_steels_out() -> None:
    """A2, D2 and stainless steels harden in still air: a normalise leaves them hard and cracks them."""
    rows = [row for row in page("when-it-went-wrong").text().splitlines() if row.startswith("|")]
    again = [row for row in rows if "normalise" in row]
    assert len(again) >= 6
    alone = [row for row in again if "anneal" not in row.lower()]
    assert alone == []


def test_a_row_stands_alone() -> None:
    """The search prints a row without its neighbours: "other steels" than which, "the same" as what?"""
    lines = [line for p in pages() for line in p.text().splitlines() if line.startswith("|")]
    firsts = [line.split("|")[1].strip() for line in lines]
    assert [first for first in firsts if re.match(r"(And|The same|With|Let other|Others?)\b", first)] == []


def test_burning_oil_keeps_the_part_under() -> None:
    """Lifted out, it drips burning oil; half in, it goes on lighting it (common practice)."""
    text = page("the-oil-burns").text()
    assert "right out" not in text
    assert "all the way under" in text
