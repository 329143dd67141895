"""Shelving an alarm from the command line."""

import pytest
from link_ends import Host

from kilnctl.cli.main import run


def test_shelve_crosses_the_socket_with_its_reason(host: Host, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["shelve", "supply", "--for", "20min", "--why", "meter reads low"]) == 0
    assert host.took[-1].word == "shelve"
    assert host.took[-1].args == {"kind": "supply", "for_s": 1200.0, "why": "meter reads low"}
    assert "comes back" in capsys.readouterr().out
    assert run(["shelve", "supply", "--why", ""]) == 3
    host.refuses = "a trip cannot be shelved"
    assert run(["shelve", "smoke", "--why", "it is fog"]) == 3
    assert "a trip cannot be shelved" in capsys.readouterr().err
