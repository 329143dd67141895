"""Two runs of one recipe in two ovens: does each record name the other, and the time between?"""

from pathlib import Path

import pytest

from kilnctl.care.between_ovens import came_from, rows
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.records import RunHeader
from kilnctl.logbook.writer import Logbook

PLAN = """
name = "gouge"
[[segment]]
kind = "ramp"
to = "800 C"
[[segment]]
kind = "operator"
step = "confirm"
label = "hand over to small"
say = "On to small."
at_most = "1 h"
"""


def booked(book, oven, began, ended, recipe="gouge", part="gouge-7"):
    """A run that is over."""
    header = RunHeader(
        oven=oven,
        oven_file="",
        profile=PLAN,
        profile_name="gouge",
        started_utc=began,
        recipe=recipe,
        part=part,
        period_s=1.0,
    )
    run = book.start_run(header)
    book.finish(run, "complete", {}, ended)
    return run


@pytest.mark.parametrize(("minutes", "said"), [(18, "18 min between"), (90, "TOO LATE: 1 h 30 min between")])
def test_each_record_names_the_other_oven_and_the_time_between(tmp_path: Path, minutes: int, said: str):
    book = Logbook(tmp_path / "log")
    first = booked(book, "large", 1e9, 1e9 + 3600)
    second = booked(book, "small", 1e9 + 3600 + 60 * minutes, 1e9 + 20000)
    booked(book, "small", 1e9 + 4000, 1e9 + 20000, part="another")
    with Reader(book.connection) as reader:
        (before,) = rows(reader, reader.run(second))
        (after,) = rows(reader, reader.run(first))
    assert before[0] == "before it"
    assert f"run {first}" in before[1]
    assert after[0] == "after it"
    assert f"run {second}" in after[1]
    for text in (before[1], after[1]):
        assert said in text
        assert "1 h 00 min allowed" in text


def test_without_a_recipe_nothing_is_guessed(tmp_path: Path):
    book = Logbook(tmp_path / "log")
    booked(book, "large", 1e9, 1e9 + 3600, recipe="")
    with Reader(book.connection) as reader:
        assert came_from(reader, "", "gouge-7", "small", 1e9 + 4000) is None
