"""A part by the command line: its story, its tests, its bows."""

from pathlib import Path

import pytest

from kilnctl.cli.main import run as kilnctl

Out = pytest.CaptureFixture[str]


def test_a_part_tells_its_story_and_takes_what_was_measured(folder: Path, capsys: Out) -> None:
    name = "gouge 7"
    assert kilnctl(["part", "describe", name, "--steel", "O1", "--section", "4 mm"]) == 0
    assert kilnctl(["part", "bow", name, "1.2 mm", "--side", "left", "--run", "2"]) == 0
    tester = ["--readings", "58.1, 58.4, 57.7", "--block", "60.0 reads 60.9", "--bare-metal"]
    assert kilnctl(["part", "test", name, "--run", "2", *tester]) == 0
    assert kilnctl(["part", "note", name, "left the shop"]) == 0
    assert kilnctl(["part", "describe", name, "--bar", "bar 12", "--position", "front left"]) == 0
    capsys.readouterr()
    assert kilnctl(["part", name]) == 0
    said = capsys.readouterr().out
    for word in (
        "run 1",
        "run 2",
        "block-corrected 57.2",
        "1.2 mm to the left",
        "left the shop",
        "O1, bar 12, 4 mm, front left in the load",
    ):
        assert word in said
