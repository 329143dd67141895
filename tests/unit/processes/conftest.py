"""What the tests of messages share."""

from collections.abc import Iterator

import pytest
from message_service import Service


@pytest.fixture
def service() -> Iterator[Service]:
    """Return a service that takes messages in this process."""
    one = Service()
    yield one
    one.close()
