"""The front door without its script."""

import runpy
import sys

import pytest


def test_it_begins_without_its_script_on_the_path(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "argv", ["kilnctl", "--help"])
    with pytest.raises(SystemExit) as ended:
        runpy.run_module("kilnctl", run_name="__main__")
    assert ended.value.code == 0
    assert capsys.readouterr().out.startswith("kilnctl COMMAND")
