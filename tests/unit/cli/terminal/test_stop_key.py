"""The key that ends a long piece of work, at a real pseudo-terminal: q, Ctrl-C, and a second Ctrl-C."""

import os
import pty
import signal
import subprocess
import sys
import termios
import time

import pytest

from kilnctl.cli.terminal.stop_key import stop_key

WAITS = """
import time
from kilnctl.cli.terminal.stop_key import stop_key
with stop_key() as stopped:
    print("ready", flush=True)
    while not stopped():
        time.sleep(0.01)
    print("kept", flush=True)
    if {again}:
        time.sleep(60)
"""


class Terminal:
    """A process at a terminal of its own, which has it for its controlling one as a shell's has."""

    def __init__(self, again: bool = False) -> None:
        self.pid, self.line = pty.fork()
        if self.pid == 0:
            os.execv(sys.executable, [sys.executable, "-c", WAITS.format(again=again)])
        self.until("ready")

    def until(self, word: str) -> str:
        said = ""
        while word not in said:
            said += os.read(self.line, 1024).decode()
        return said

    def press(self, key: bytes) -> None:
        os.write(self.line, key)

    def end(self) -> int:
        return os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])


@pytest.mark.real_bytes
@pytest.mark.parametrize("key", [b"q", b"Q", b"\x03"], ids=["q", "Q", "Ctrl-C"])
def test_a_key_ends_the_work_and_leaves_the_terminal_as_it_was(key: bytes) -> None:
    terminal = Terminal()
    assert not termios.tcgetattr(terminal.line)[3] & termios.ICANON
    terminal.press(b"x")
    terminal.press(key)
    terminal.until("kept")
    assert terminal.end() == 0
    assert termios.tcgetattr(terminal.line)[3] & termios.ICANON


@pytest.mark.real_bytes
def test_a_second_ctrl_c_ends_the_command() -> None:
    terminal = Terminal(again=True)
    terminal.press(b"\x03")
    terminal.until("kept")
    terminal.press(b"\x03")
    assert terminal.end() == -signal.SIGINT


@pytest.mark.real_bytes
def test_without_a_terminal_a_signal_ends_it_too() -> None:
    words = [sys.executable, "-c", WAITS.format(again=False)]
    with subprocess.Popen(words, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
        process.terminate()
        assert process.stdout.read() == "kept\n"
    assert process.returncode == 0


def test_the_signals_are_given_back() -> None:
    before = signal.getsignal(signal.SIGINT), signal.getsignal(signal.SIGTERM)
    with stop_key() as stopped:
        assert not stopped()
        os.kill(os.getpid(), signal.SIGTERM)
        for _ in range(1000):
            if stopped():
                break
            time.sleep(0.001)
        assert stopped()
    assert (signal.getsignal(signal.SIGINT), signal.getsignal(signal.SIGTERM)) == before
