"""What holds for every test: no property is judged by how busy the machine is; and a home of one's own."""

from pathlib import Path

import pytest
from hypothesis import settings

settings.register_profile("house", deadline=None)
settings.load_profile("house")


@pytest.fixture
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a folder that is this test's home: no test sees the logbook, marks or latches of another."""
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    return tmp_path
