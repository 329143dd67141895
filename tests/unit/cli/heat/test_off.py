"""The exit code of `kilnctl off` says what was found, also where nobody reads its words."""

import os
import subprocess
import sys
from pathlib import Path

import pytest


@pytest.mark.parametrize("words_too", [False, True], ids=["stderr", "stdout and stderr"])
def test_a_pipe_that_nobody_reads_makes_no_good_off(own_home: Path, words_too: bool) -> None:
    (own_home / "running").mkdir()
    mark = 'name = "left"\nisolator = "red switch"\nport.bus = { path = "/dev/no-such-port" }\n'
    (own_home / "running" / "left.toml").write_text(mark, encoding="utf-8")
    read, write = os.pipe()
    os.close(read)
    try:
        command = [sys.executable, "-m", "kilnctl", "off"]
        out = write if words_too else subprocess.DEVNULL
        assert subprocess.run(command, stdout=out, stderr=write, check=False).returncode == 1
    finally:
        os.close(write)
