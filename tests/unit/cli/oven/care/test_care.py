"""An oven is looked after by the command line."""

from pathlib import Path

import pytest

from kilnctl.cli.main import run as kilnctl

Out = pytest.CaptureFixture[str]


def test_an_oven_is_looked_after(folder: Path, capsys: Out) -> None:
    oven, care = "tempering-oven", "care"
    points = ["--low", "100.5 C is 100.0 C", "--high", "222 C is 220 C", "--left", "220.2 C is 220 C"]
    assert kilnctl([care, "calibrate", oven, "process", *points, "--reference", "ref"]) == 0
    said = capsys.readouterr().out
    assert "corrected = 0.98765 x reading +0.741 C" in said  # 120 / 121.5, by hand
    assert "process: as found -2.0 K" in said
    places = ["a = 216.1 C", "b = 219.4 C", "c=220.8 C", "d = 219 C", "e = 217.2 C"]
    at = [word for place in places for word in ("--at", place)]
    assert kilnctl([care, "survey", oven, "218 C", *at, "--most", "226 C"]) == 0
    assert "-1.9/+2.8 K: inside ±3 K" in capsys.readouterr().out
    counted = ["--counter", "quenches", "--limit", "2"]
    assert kilnctl([care, "remind", "oil tank", "change the oil", *counted]) == 0
    assert kilnctl([care, "count", "oil tank", "quenches", "--by", "2"]) == 0
    assert "OVERDUE  change the oil: quenches 2 of 2" in capsys.readouterr().out
    assert kilnctl(["runs", "--due"]) == 0
    assert "OVERDUE oil tank" in " ".join(capsys.readouterr().out.split())
    assert kilnctl([care, "done", "oil tank", "quenches"]) == 0
    assert kilnctl([care, "due", "oil tank"]) == 0
    assert "OVERDUE" not in capsys.readouterr().out
    assert kilnctl([care, "ageing", oven]) == 0
    assert "nothing to compare yet" in capsys.readouterr().out


def test_a_mistyped_oven_keeps_no_survey(folder: Path, capsys: Out) -> None:
    at = [word for place in "abcde" for word in ("--at", f"{place} = 216 C")]
    assert kilnctl(["care", "survey", "tempring-oven", "218 C", *at]) == 2
    assert "tempering-oven" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("read", "more"), [("420 C", ()), ("103 C", ()), ("818 C", ()), ("219 C", ("--most", "205 C"))]
)
def test_a_survey_that_nobody_can_have_measured_is_refused_and_not_kept(
    read: str, more: tuple[str, ...], folder: Path, capsys: Out
) -> None:
    at = [word for place in "abcde" for word in ("--at", f"{place} = {read}")]
    assert kilnctl(["care", "survey", "tempering-oven", "218 C", *at, *more]) == 2
    said = capsys.readouterr()
    assert "the hold's 218 °C" in said.err
    assert "K: " not in said.out
    assert kilnctl(["care", "due", "tempering-oven"]) == 0
    assert "survey" not in capsys.readouterr().out


def test_a_survey_says_that_a_new_element_has_ended_it(folder: Path, capsys: Out) -> None:
    oven = "tempering-oven"
    at = [word for place in "abcde" for word in ("--at", f"{place} = 219 C")]
    assert kilnctl(["care", "survey", oven, "218 C", *at]) == 0
    assert kilnctl(["care", "done", oven, "clean the door"]) == 0
    assert "no longer counts" not in capsys.readouterr().out
    assert kilnctl(["care", "done", oven, "new element"]) == 0
    assert 'It no longer counts: "new element" was done on' in capsys.readouterr().out
    assert kilnctl(["care", "survey", oven, "218 C", *at]) == 0
    assert "no longer counts" not in capsys.readouterr().out
