"""Need told as done, or beside another thing: fire, smoke and a vessel that may burst outrank the place.

And with them what an examiner asked of eyes and of a finger. As it is taught everywhere; common practice.
"""

import pytest

from kilnctl.guide.emergencies import told_first
from kilnctl.guide.search import bare, search

NEED = {
    "The oil is burning": (
        "threw water on the oil and it went up",
        "oil tank tipped over burning floor",
        "poured water on burning oil",
        "the oil went up in flames",
    ),
    "a fire in the workshop": (
        "the roof is burning",
        "the bench is on fire",
        "my shed caught fire",
        "wall on fire",
    ),
    "Acid, pickle": (
        "oil in my eye",
        "hot quench oil splashed in my eyes",
        "etchant in his eye",
        "hot oil in the eye",
        "hot oil splashed my eye and face",
    ),
    "A vessel with dry ice": (
        "the dry ice bottle is swelling",
        "flask of liquid nitrogen is bulging",
        "I screwed the lid shut on the dry ice",
    ),
    "smoke pours": ("smoke pouring out of the tempering oven", "thick smoke coming out of the kiln"),
    "A deep cut": (
        "finger cut off by belt grinder",
        "grinder took my fingertip off",
        "cut off my thumb",
        "belt grinder cut his hand",
    ),
}
NONE = (
    "cut off wheel for hardened steel",
    "cut off the tang",
    "is a little smoke from the oven normal",
    "may I put dry ice in a bottle",
    "what eye protection against oil",
    "heat went up to 800",
    "the oil went up to 60 C",
    "burning off the oil before the temper",
    "oven on a roof terrace",
)


@pytest.mark.parametrize(
    ("begins", "question"), [(begins, one) for begins, all_ in NEED.items() for one in all_]
)
def test_need_outranks_the_place_and_the_tool(begins: str, question: str) -> None:
    assert bare(search(question.split())[0].text).startswith(begins)


@pytest.mark.parametrize("question", NONE)
def test_no_need_is_seen_where_there_is_none(question: str) -> None:
    assert told_first(question) is None
