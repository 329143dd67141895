"""One set-up walk an oven at a time, by a lock that dies with who holds it."""

from pathlib import Path

import pytest

from kilnctl.commissioning.wizard_lock import alone_with, busy
from kilnctl.errors import RunRefused

pytestmark = pytest.mark.usefixtures("own_home")


def test_a_second_terminal_is_refused_and_another_oven_is_not() -> None:
    with alone_with("tempering oven"):
        assert busy("tempering oven")
        assert not busy("furnace")
        with pytest.raises(RunRefused, match="another terminal"), alone_with("tempering oven"):
            pass
    assert not busy("tempering oven")


def test_a_name_is_no_path(own_home: Path) -> None:
    with alone_with("../x"):
        assert [file.name for file in own_home.glob("set-up-*")] == ["set-up-..%2Fx.lock"]
