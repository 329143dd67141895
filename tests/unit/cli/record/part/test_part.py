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


@pytest.mark.parametrize(
    ("block", "says"),
    [
        ("700 HV reads 714 HV", "block-corrected 697 HV"),
        ("700 HV reads 714", "block-corrected 697 HV"),
        ("700 reads 714", "block-corrected 697 HV"),
        ("700 HV10 reads 714 HV10", "block-corrected 697 HV"),
    ],
)
def test_a_block_is_written_in_its_scale(folder: Path, capsys: Out, block: str, says: str) -> None:
    assert kilnctl(["part", "test", "gouge 7", "--readings", "711 HV, 711 HV", "--block", block]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert says in said
    assert "±1.5 HRC" in said


@pytest.mark.parametrize(
    ("readings", "block", "says"),
    [
        ("60.1, 59.8", "700 HV reads 714 HV", "set the tester to HV"),
        ("711 HV", "60.0 HRC reads 60.9 HRC", "of the scale"),
        ("711 HV", "700 HV reads 60.9 HRC", "of the scale"),
        ("711 HV, 60.1", "700 HV reads 714 HV", "one scale"),
        ("60.1", "60 to 61", 'like "60.0 reads 60.9"'),
    ],
)
def test_a_block_of_another_scale_corrects_nothing(
    folder: Path, capsys: Out, readings: str, block: str, says: str
) -> None:
    assert kilnctl(["part", "test", "gouge 7", "--readings", readings, "--block", block]) == 2
    assert says in capsys.readouterr().err
