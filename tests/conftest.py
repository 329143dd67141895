"""What holds for every test: no property is judged by how busy the machine is; a home of one's own; and no
process is left behind.
"""

import gc
import os
from collections.abc import Iterator
from pathlib import Path

import leftovers
import pytest
from hypothesis import settings

settings.register_profile("house", deadline=None)
settings.load_profile("house")
leftovers.mark_mine()
gc.disable()  # until everything is collected, and all of that stays


def pytest_configure(config: pytest.Config) -> None:
    """Each worker begins to collect at another file: they share the compiling of a fresh clone."""
    worker = int(os.environ.get("PYTEST_XDIST_WORKER", "gw0").removeprefix("gw"))
    workers = int(os.environ.get("PYTEST_XDIST_WORKER_COUNT", "1"))
    if config.args_source is pytest.Config.ArgsSource.TESTPATHS:
        files = [str(file) for folder in config.args for file in sorted(Path(folder).rglob("test_*.py"))]
        first = worker * len(files) // workers
        config.args[:] = files[first:] + files[:first]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """All workers have their tests in one order, wherever they began: what waits among what computes.

    A file that takes long alone is among the first of its kind; the last fifth of the run waits for nothing.
    """
    waits = {item.path for item in items if "real_bytes" in item.keywords}
    first = {item.path for item in items if "begins_first" in item.keywords}
    place: dict[Path, float] = {}
    for kind, share in ((waits, 0.8), ({item.path for item in items} - waits, 1.0)):
        for at, path in enumerate(sorted(kind, key=lambda path: (path not in first, path))):
            place[path] = share * at / len(kind)
    items.sort(key=lambda item: (place[item.path], item.path))


def pytest_collection_finish() -> None:
    """What was collected stays: garbage is sought elsewhere, and more rarely. It was a tenth of a run."""
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)
    gc.enable()


@pytest.fixture(scope="module", autouse=True)
def _nobody_is_left(request: pytest.FixtureRequest) -> Iterator[None]:
    """No process outlives the tests over real bytes of a module. The first fixture made ends last."""
    yield
    module = request.node
    items = request.session.items
    if any("real_bytes" in item.keywords for item in items if item.path == module.path):
        left = leftovers.complaint(module.nodeid)
        assert not left, left


@pytest.fixture
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a folder that is this test's home: no test sees the logbook, marks or latches of another."""
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    return tmp_path
