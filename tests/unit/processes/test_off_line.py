"""The line that off comes in by."""

import os
import time

import pytest

from kilnctl.processes.off_line import OffLine, ask


def descriptors() -> int:
    return len(os.listdir("/proc/self/fd"))


@pytest.mark.real_bytes
def test_a_closed_line_gives_its_name_and_every_descriptor_back() -> None:
    before, name = descriptors(), f"kilnctl-test-{os.getpid()}"
    line = OffLine([name], lambda asked: {"heard": asked})
    answer = ask(name, {"off": 1}, 5.0)
    assert answer is not None
    assert answer[0] == {"heard": {"off": 1}}
    line.close()
    line.close()
    assert ask(name, {"off": 1}, 1.0) is None
    give_up_s = time.monotonic() + 20.0
    while descriptors() > before:
        assert time.monotonic() < give_up_s, "descriptors stay open"
        time.sleep(0.01)
