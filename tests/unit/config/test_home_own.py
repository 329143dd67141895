"""A home that others may write to proves nothing: no heat there, but an off works."""

from pathlib import Path

import pytest

from kilnctl.config import home
from kilnctl.errors import ConfigError
from kilnctl.marks import ovens_in_charge
from kilnctl.processes import spawn
from kilnctl.processes.supervisor import Supervisor


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    return tmp_path


def test_a_home_of_ones_own_is_taken(folder: Path) -> None:
    (folder / "latches").mkdir(mode=0o700)
    folder.chmod(0o755)  # others may look
    assert home.own_home() == folder


@pytest.mark.parametrize("mode", [0o777, 0o770, 0o1777, 0o722, 0o720])
@pytest.mark.parametrize("which", [".", "latches", "running", "off", "hot"])
def test_w9_where_others_may_write_nothing_is_heated(folder: Path, mode: int, which: str) -> None:
    (folder / which).mkdir(exist_ok=True)
    (folder / which).chmod(mode)
    with pytest.raises(ConfigError, match="others may write"):
        home.own_home()
    with pytest.raises(ConfigError, match="chmod go-w"):
        spawn.ensure_controller()
    with pytest.raises(ConfigError, match="others may write"):
        Supervisor().run()
    assert ovens_in_charge.in_charge(None) == {}  # which an off asks first, and does not refuse
