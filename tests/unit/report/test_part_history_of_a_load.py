"""A part that was done in a load with others has that heat in its own story, and the record names each."""

from pathlib import Path

import pytest

from kilnctl.cli.main import run
from kilnctl.logbook.records import RunHeader
from kilnctl.logbook.writer import Logbook

PROFILE = """
name = "temper"
steel = "O1"
section = "3.5 mm"
parts = ["gouge-1", "gouge-12"]
[[segment]]
kind = "soak"
purpose = "temper"
at = "205 C"
time = "2h"
"""


@pytest.fixture
def load(own_home: Path) -> None:
    with Logbook(own_home / "logbook.sqlite") as book:
        head = RunHeader(
            oven="o",
            oven_file="",
            profile=PROFILE,
            profile_name="temper",
            started_utc=1e9,
            steel="O1",
            part="batch",
        )
        book.finish(book.start_run(head), "complete", {}, 1e9 + 7200.0)


@pytest.mark.usefixtures("load")
@pytest.mark.parametrize("part", ["gouge-1", "gouge-12", "batch"])
def test_each_part_of_a_load_has_the_heat_in_its_story(part: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["part", part]) == 0
    assert "run 1 temper" in capsys.readouterr().out


@pytest.mark.usefixtures("load")
@pytest.mark.parametrize("part", ["gouge", "gouge-2", "ouge-1"])
def test_a_part_that_was_not_in_it_has_not(part: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["part", part]) == 2
    assert "knows no part" in capsys.readouterr().err


@pytest.mark.usefixtures("load")
def test_the_record_names_each(own_home: Path) -> None:
    page = own_home / "page.html"
    assert run(["export", "1", "--out", str(page)]) == 0
    assert "gouge-1, gouge-12" in page.read_text()
