"""A logbook of the test's own."""

from collections.abc import Iterator

import pytest

from kilnctl.logbook.writer import Logbook


@pytest.fixture
def book() -> Iterator[Logbook]:
    """Return an empty logbook in memory."""
    with Logbook(None) as made:
        yield made
