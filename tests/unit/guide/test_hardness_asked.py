"""What a fourth examiner asked: soft or hard by two numbers, a fault with a grade.

Two Rockwell numbers say which way it went, the words around them do not. Common practice, no single source.
"""

import pytest

from kilnctl.cli.main import run
from kilnctl.guide.hardness_asked import wanted_and_measured, which_way
from kilnctl.guide.search import bare, search

HARDER = "It came out harder than I wanted"
SOFT = ("It files hard, but the tester", "The file bites", "Tempered too hot")
FIRST = {
    "hardness 64 wanted 60": (HARDER,),
    "D2 tests 62 instead of 58": (HARDER,),
    "1084 tempered at 300 by mistake": ("Tempered too hot",),
    "tempered 30 degrees too hot": ("Tempered too hot",),
    "my 1095 did not harden": ("The file bites",),
    "80CrV2 still soft after second quench": ("The file bites",),
    "blade came out of the oil soft": ("The file bites",),
    "bent, cold after the quench, not tempered": ("Why did my blade warp?",),
    "tempered at 205 instead of 250": ("Too cold, or too short",),
    "tempered at 250 instead of 205": ("Tempered too hot",),
    "quench 52100 in diesel": ("May I thin quench oil",),
    "can I thin quench oil with diesel": ("May I thin quench oil",),
    "petrol in the oil to make it faster": ("May I thin quench oil",),
    "oven overnight while I am asleep": ("May it temper overnight",),
    "is it ok to harden overnight": ("May it temper overnight",),
    "how hard for a chopper": ("choppers, machetes",),
    "how hard should a machete be": ("choppers, machetes",),
    "HRC of a camp knife": ("choppers, machetes",),
    "charcoal in the electric oven against scale": ("charcoal, wood chips",),
    "san mai with a 1095 core and stainless sides": ("Write the core",),
    "check my K couple after a year at 1050": ("Is my K couple still right",),
    "ice and boiling water test enough for an old K couple at 1000 C": ("Is my K couple still right",),
    "molten salt 801 C as a fixed point": ("May I use cooking salt",),
}
SOFTER = (
    "O1 hardness 58 wanted 62",
    "D2 came out 56 instead of 60",
    "hardness only 55",
    "expected 61 HRC got 57",
    "tests 57, should be 61",
    "only 55",
)
NO_HARDNESS = ("only 50 blades", "oil at 50 instead of 60", "is 1084 hard at 58", "bath only 55")
PAIRS = {
    "O1 hardness 58 wanted 62": (62.0, 58.0),
    "D2 came out 56 instead of 60": (60.0, 56.0),
    "supposed to be 60, measures 64": (60.0, 64.0),
    "wanted 60 but came out at 63.5 HRC": (60.0, 63.5),
    "60 HRC wanted, which temper": None,
    "soak 60 min at 800 instead of 10": None,
    "read 60 minutes instead of 45": None,
}


@pytest.mark.parametrize("question", FIRST)
def test_the_passage_that_answers_comes_first(question: str) -> None:
    assert bare(search(question.split())[0].text).startswith(FIRST[question])


@pytest.mark.parametrize("question", SOFTER)
def test_softer_than_wanted_is_never_told_to_temper_hotter(question: str) -> None:
    told = [bare(passage.text) for passage in search(question.split())]
    assert told[0].startswith(SOFT)
    assert not any(text.startswith(HARDER) for text in told)


@pytest.mark.parametrize("question", NO_HARDNESS)
def test_a_number_of_another_thing_is_no_hardness(question: str) -> None:
    assert which_way(question) is None


@pytest.mark.parametrize("question", PAIRS)
def test_two_rockwell_numbers_are_told_apart(question: str) -> None:
    assert wanted_and_measured(question.lower()) == PAIRS[question]


@pytest.mark.parametrize(
    ("question", "cause"),
    [
        ("O1 came out soft why", "**What happened: The file bites"),
        ("1084 knife came out soft", "**What happened: The file bites"),
        ("AEB-L not hard enough", "**What happened: The file bites"),
        ("80CrV2 warped in the quench", "Why did my blade warp?"),
        ("O1 cracked in water", "The blade cracked"),
        ("AEB-L blistered", "blisters, bubbles"),
        ("my O1 blade came out soft after tempering at 300", "Tempered too hot"),
    ],
)
def test_the_cause_of_a_fault_comes_before_the_card(
    question: str, cause: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["guide", *question.split()]) == 0
    told = capsys.readouterr().out
    assert cause in told[: told.index("\n\nMore:")]
    assert told.index(cause) < told.index("The card of")
