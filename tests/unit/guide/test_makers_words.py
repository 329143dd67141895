"""What makers say for one another's words: spellings of two countries, one and many, words of the bench."""

import pytest

from kilnctl.guide.makers_words import COMMON_COUNTS, EMPTY, SAID_TOO, said_for


@pytest.mark.parametrize(
    ("word", "other"),
    [
        ("color", "colour"),
        ("kids", "children"),
        ("knives", "knife"),
        ("leaf", "leaves"),
        ("basement", "cellar"),
        ("banana", "bent"),
    ],
)
def test_a_word_brings_what_makers_say_for_it(word: str, other: str) -> None:
    assert other in said_for(word)


def test_the_word_itself_counts_more_than_another_for_it() -> None:
    said = said_for("cellar")
    assert said["cellar"] > said["basement"]


def test_what_any_question_is_about_counts_little() -> None:
    assert said_for("blade")["blade"] == COMMON_COUNTS < said_for("crack")["crack"]


def test_no_word_that_asks_nothing_stands_in_a_group() -> None:
    assert EMPTY & {word for group in SAID_TOO for word in group} == set()
