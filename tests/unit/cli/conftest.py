"""A controller to talk to, and a home with runs in its logbook."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from heats import one_run, ruled_run
from link_ends import OVEN, Host

from kilnctl.config import home
from kilnctl.link.server import LinkServer
from kilnctl.logbook.writer import Logbook


@pytest.fixture
def host(own_home: Path) -> Iterator[Host]:
    host = Host()
    server = LinkServer(home.socket_path(), host.handle)
    server.publish(OVEN)
    yield host
    server.close()


@pytest.fixture(scope="session")
def three_runs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A logbook of three runs, written once; every test works on a copy."""
    path = tmp_path_factory.mktemp("written") / "logbook.sqlite"
    with Logbook(path) as book:
        ruled_run(book)
        ruled_run(book, hot_k=5.0, simulated=False)
        one_run(book, 30, end=False, steel="1095", part="knife 1")
    return path


@pytest.fixture
def folder(three_runs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a folder; the home in it holds a logbook of three runs."""
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path / "zu hause ü"))
    shutil.copytree(three_runs.parent, tmp_path / "zu hause ü")
    return tmp_path
