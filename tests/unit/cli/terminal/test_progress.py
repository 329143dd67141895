"""What is shown of a long job: something on a terminal, nothing where a script reads."""

import io
import sys

import pytest

from kilnctl.cli.terminal.progress import at_work, progress


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize("shown", [True, False])
def test_a_terminal_alone_is_told(shown: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    stderr = Terminal() if shown else io.StringIO()
    monkeypatch.setattr(sys, "stderr", stderr)
    with progress("rehearsing") as done:
        done(0.5)
    with at_work("the numbers are looked for"):
        pass
    assert ("rehearsing" in stderr.getvalue()) is shown
    assert ("looked for" in stderr.getvalue()) is shown
