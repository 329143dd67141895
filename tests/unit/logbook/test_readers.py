"""Finding runs: every filter, alone and together."""

from collections.abc import Iterator

import pytest
from heats import START_UTC, events, header, one_run, samples

from kilnctl.errors import RecordError
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook

DAY_S = 86_400.0


@pytest.fixture
def reader() -> Iterator[Reader]:
    with Logbook(None) as book:
        one_run(book, 10)
        one_run(
            book,
            10,
            oven="hardening-furnace",
            steel="5160",
            part="drawknife 2",
            started_utc=START_UTC + DAY_S,
        )
        run = book.start_run(
            header(steel="1095", part="knife 1", started_utc=START_UTC + 2 * DAY_S, operator="J_R")
        )
        book.append(run, samples(10), events(1))
        book.finish(run, "tripped", {"cause": "sensor open at 100% power"}, START_UTC)
        one_run(book, 10, end=False, started_utc=START_UTC + 3 * DAY_S)
        yield Reader(book.connection)


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({}, [4, 3, 2, 1]),
        ({"oven": "hardening-furnace"}, [2]),
        ({"oven": "Hardening-Furnace"}, [2]),
        ({"steel": "o1"}, [4, 1]),
        ({"part": "gouge 7"}, [4, 1]),
        ({"outcome": "tripped"}, [3]),
        ({"outcome": "incomplete"}, [4]),
        ({"since_utc": START_UTC + DAY_S}, [4, 3, 2]),
        ({"until_utc": START_UTC + DAY_S}, [1]),
        ({"since_utc": START_UTC + DAY_S, "until_utc": START_UTC + 2 * DAY_S}, [2]),
        ({"text": "sensor open"}, [3]),
        ({"text": "100%"}, [3]),
        ({"text": "J_R"}, [3]),
        ({"text": "word 0"}, [4, 3, 2, 1]),
        ({"text": "word 2"}, [4, 2, 1]),
        ({"text": "%"}, [3]),
        ({"text": "'; DROP TABLE run; --"}, []),
        ({"steel": "O1", "outcome": "complete"}, [1]),
        ({"limit": 2}, [4, 3]),
        ({"oven": "nobody's"}, []),
    ],
)
def test_runs_are_found(reader: Reader, asked: dict[str, object], found: list[int]) -> None:
    assert [info.run for info in reader.runs(**asked)] == found  # type: ignore[arg-type]


def test_the_list_says_how_runs_ended(reader: Reader) -> None:
    tripped = reader.run(3)
    assert (tripped.outcome, tripped.cause, tripped.complete) == (
        "tripped",
        "sensor open at 100% power",
        True,
    )
    assert tripped.peak_c is not None
    assert reader.run(4).complete is False
    assert reader.unfinished() == reader.run(4)
    assert reader.unfinished("hardening-furnace") is None


def test_a_run_that_is_not_there_is_said(reader: Reader) -> None:
    for ask in (reader.run, reader.header, reader.summary, reader.verify):
        with pytest.raises(RecordError, match="no run 99"):
            ask(99)
    assert reader.newest(99) is None


def test_events_can_be_followed(reader: Reader) -> None:
    assert [e.text for e in reader.events(1)] == ["word 0", "word 1", "word 2"]
    assert [e.text for e in reader.events(1, after=1)] == ["word 2"]
    assert reader.events(1, after=2) == []


def test_a_header_comes_back_whole(reader: Reader) -> None:
    known = reader.header(2)
    assert (known.oven, known.steel, known.oven_file) == ("hardening-furnace", "5160", header().oven_file)
    assert known.previous == reader.rows("SELECT header_hash FROM run WHERE id=1")[0][0].hex()
