"""What holds for every test: no property is judged by how busy the machine is; a home of one's own; and no
process is left behind.
"""

import gc
from collections.abc import Iterator
from pathlib import Path

import leftovers
import pytest
from hypothesis import settings

settings.register_profile("house", deadline=None)
settings.load_profile("house")
leftovers.mark_mine()


def pytest_collection_finish() -> None:
    """What was collected stays: garbage is sought elsewhere, and more rarely. It was a tenth of a run."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)


@pytest.fixture(scope="module", autouse=True)
def _nobody_is_left(request: pytest.FixtureRequest) -> Iterator[None]:
    """No process outlives the tests over real bytes of a module. The first fixture made ends last."""
    yield
    module = request.node.nodeid
    mine = [item for item in request.session.items if item.nodeid.startswith(module)]
    if any("real_bytes" in item.keywords for item in mine):
        left = leftovers.complaint(module)
        assert not left, left


@pytest.fixture
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a folder that is this test's home: no test sees the logbook, marks or latches of another."""
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    return tmp_path
