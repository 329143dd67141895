"""A process with a terminal of its own that is closed under it, without any signal."""

import os
import pty
import subprocess
import sys

import pytest

CHILD = """
import threading
from kilnctl.cli.terminal.terminal_lost import leave_with_terminal
leave_with_terminal()
print("there", flush=True)
threading.Event().wait(120)
"""


@pytest.mark.real_bytes
def test_a_screen_ends_when_its_terminal_is_closed() -> None:
    master, slave = pty.openpty()
    child = subprocess.Popen([sys.executable, "-c", CHILD], stdin=slave, stdout=slave, start_new_session=True)
    os.close(slave)
    assert os.read(master, 100).startswith(b"there")
    assert child.poll() is None
    os.close(master)
    assert child.wait(60) == 1


@pytest.mark.real_bytes
def test_a_screen_in_a_browser_ends_with_its_server() -> None:
    command = [sys.executable, "-c", CHILD]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as child:
        assert child.stdout is not None
        assert child.stdin is not None
        assert child.stdout.readline() == "there\n"
        assert child.poll() is None
        child.stdin.close()
        assert child.wait(60) == 1
