"""A server on a socket of the test's own."""

import contextlib
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from link_ends import Served, accept

from kilnctl.clock import VirtualClock
from kilnctl.link.server import LinkServer
from kilnctl.link.snapshot import Answer, Command


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "s"


@pytest.fixture
def serve(path: Path) -> Iterator[Served]:
    with contextlib.ExitStack() as stack:

        def start(
            handle: Callable[[Command], Answer] = accept, clock: VirtualClock | None = None
        ) -> LinkServer:
            return stack.enter_context(contextlib.closing(LinkServer(path, handle, clock)))

        yield start
