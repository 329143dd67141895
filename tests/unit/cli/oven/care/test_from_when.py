"""A correction that is entered while an oven heats counts from the next heat on, and it is said."""

from datetime import UTC, datetime
from pathlib import Path

import pytest
from heats import header, samples

from kilnctl.cli.main import run as kilnctl
from kilnctl.config import home
from kilnctl.logbook.writer import Logbook
from kilnctl.marks import running_ovens

Out = pytest.CaptureFixture[str]
POINT = ("--at", "219.5 C is 218.0 C", "--used-to", "260 C", "--reference", "K sensor 3")


@pytest.mark.parametrize("heating", [False, True])
def test_a_heat_under_way_keeps_what_it_began_with(own_home: Path, capsys: Out, heating: bool) -> None:
    oven = header().oven
    if heating:
        running_ovens.mark(oven, (home.bundled("ovens") / f"{oven}.toml").read_text(encoding="utf-8"))
        began_utc = datetime.now(UTC).timestamp() - 120.0
        with Logbook(home.logbook_path()) as book:
            run = book.start_run(header(simulated=False, started_utc=began_utc))
            book.append(run, [s._replace(utc_s=began_utc + s.elapsed_s) for s in samples(120)], [])
    for words in (("calibrate", oven, "process", *POINT), ("take-away", oven, "process")):
        assert kilnctl(["care", *words]) == 0
        said = " ".join(capsys.readouterr().out.split())
        assert "counts from the next heat on" in said
        assert ("run 1 goes on with the correction that it began with" in said) is heating


def test_closures_are_whole_numbers_and_hours_are_not(own_home: Path, capsys: Out) -> None:
    with Logbook(home.logbook_path()) as book:
        book.start_run(header(simulated=False))
    assert kilnctl(["care", "due", header().oven]) == 0
    said = capsys.readouterr().out
    assert "relay closures: 0\n" in said
    assert "element hours: 0.0 h\n" in said


def test_where_no_heat_may_use_a_point_is_said_beside_it(own_home: Path, capsys: Out) -> None:
    point = ("--at", "1004 C is 1000 C", "--reference", "K sensor 3")
    assert kilnctl(["care", "calibrate", "hardening-furnace", "process", *point]) == 0
    said = capsys.readouterr().out
    assert "no heat may use it there" in said.split("at 205")[1].splitlines()[0]
    assert "no heat may" not in said.split("at 1000")[1].splitlines()[0]
