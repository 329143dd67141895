"""The file of the channels holds keys: nobody else may read it."""

from pathlib import Path

import pytest

from kilnctl.config import channels
from kilnctl.errors import ConfigError

ONE = '[[channel]]\nname = "phone"\nurl = "json://127.0.0.1:9/secret"\n'


def test_a_file_that_others_may_read_is_refused(own_home: Path) -> None:
    channels.path().write_text(ONE, encoding="utf-8")
    channels.path().chmod(0o600)
    assert [channel.name for channel in channels.load_channels()] == ["phone"]
    channels.path().chmod(0o644)
    with pytest.raises(ConfigError, match="chmod 600"):
        channels.load_channels()
