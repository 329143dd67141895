"""The file of makers' questions is held to the guide: each line leads to one passage."""

import pytest

from kilnctl.guide.pages import topics
from kilnctl.guide.search import _rows, bare, makers_questions

KEYS = [(topic, key) for topic, asked in makers_questions().items() for key in asked]


def test_each_topic_of_the_file_is_a_page() -> None:
    assert set(makers_questions()) - set(topics()) == set()
    assert len(KEYS) > 200


@pytest.mark.parametrize(("topic", "key"), KEYS)
def test_each_line_leads_to_one_passage(topic: str, key: str) -> None:
    """Seen to fail on a key that two rows of a page begin with."""
    begins = [bare(str(row[3])) for row in _rows() if row[0] == topic]
    assert sum(text.startswith(bare(key)) for text in begins) == 1
