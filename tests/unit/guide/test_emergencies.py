"""What somebody in need asks is answered first, by the words of need and not by the thing that is named.

A blind examiner asked "I grabbed a hot tang" and was told how to bend, drill and carry a tang; "heat is off
but the oven keeps getting hotter" led to silver solder. First aid as it is taught everywhere; the rest is
common practice.
"""

import pytest

from kilnctl.guide.emergencies import told_first
from kilnctl.guide.search import bare, search

NEED = {
    "heat is off but the oven keeps getting hotter": "The temperature still climbs",
    "controller off but temperature rises": "The temperature still climbs",
    "output at 0 % and it climbs": "The temperature still climbs",
    "the oven will not stop heating": "The temperature still climbs",
    "my furnace is running away": "The temperature still climbs",
    "I pressed stop and the element is still glowing": "The temperature still climbs",
    "I grabbed a hot tang": "A burn",
    "picked up a hot blade with bare fingers": "A burn",
    "stepped on a glowing chip": "A burn",
    "burnt my hand": "A burn",
    "I scalded my arm": "A burn",
    "my sleeve is on fire": "Clothes",
    "burning oil on my trousers": "Clothes",
    "something flew in my eye": "Scale, a spark",
    "my friend collapsed next to the forge": "Somebody has",
    "I got a shock from the tongs": "An electric shock",
    "headache after forging": "You smell gas",
    "the quench tank is on fire": "The oil is burning",
}
NONE = (
    "may I touch the element with tongs",
    "is a shock absorber good steel",
    "the edge burnt at the grinder",
    "I cannot turn off the horn",
    "how hot must the oil be",
    "what is the difference between off and the isolator",
    "can I hold hot steel with gloves",
    "which eye protection at the forge",
    "how do I put out burning wood",
)


@pytest.mark.parametrize("question", NEED)
def test_what_to_do_comes_first(question: str) -> None:
    assert bare(search(question.split())[0].text).startswith(NEED[question])


@pytest.mark.parametrize("question", NONE)
def test_no_other_question_is_taken_for_an_emergency(question: str) -> None:
    assert told_first(question) is None
