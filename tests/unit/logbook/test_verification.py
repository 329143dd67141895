"""The chain: whatever is changed in the file is found, and named. Changes are made with plain SQL."""

import json
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from heats import START_UTC, a_book, events, header, one_run, samples
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kilnctl.logbook import blocks, entries
from kilnctl.logbook.blocks import Ints
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.sample import COLUMNS
from kilnctl.logbook.schema import RUN_SPAN
from kilnctl.logbook.writer import Logbook

ROWS = 130


@pytest.fixture
def book() -> Iterator[Logbook]:
    """Blocks of 60, 60 and 10 rows, as a run of a second a sample has them."""
    made, rows = Logbook(None), samples(ROWS)
    run = made.start_run(header())
    for start in (0, 60, 120):
        made.append(run, rows[start : start + 60], events(3) if start == 0 else [])
    made.finish(run, "complete", {"cause": "", "peak_c": 219.1}, START_UTC + ROWS)
    yield made
    made.close()


def _ints(db: sqlite3.Connection, key: int) -> Ints:
    data, count = db.execute("SELECT data, count FROM block WHERE id=?", (key,)).fetchone()
    return blocks.unpack(data, count)


def test_an_untouched_run_is_whole(book: Logbook) -> None:
    verdict = book.verify(1)
    assert verdict.complete
    assert verdict.findings == ()
    assert (verdict.samples, verdict.events) == (ROWS, 3)


@pytest.mark.parametrize(("row", "column"), [(0, "process_c"), (59, "duty"), (60, "heat_on"), (129, "utc_s")])
def test_a_changed_value_is_named_by_its_row(book: Logbook, row: int, column: str) -> None:
    key = RUN_SPAN + row // 60 * 60
    ints = _ints(book.connection, key)
    ints[row % 60, COLUMNS.index(column)] += 1
    book.connection.execute("UPDATE block SET data=? WHERE id=?", (blocks.pack(ints), key))
    verdict = book.verify(1)
    assert verdict.rows == (row,)
    assert any(f"sample {row} " in finding for finding in verdict.findings)
    assert not verdict.complete


def test_a_change_that_also_mends_the_row_check_is_found_by_the_chain(book: Logbook) -> None:
    ints = _ints(book.connection, RUN_SPAN + 60)
    ints[5, COLUMNS.index("process_c")] += 1000
    book.connection.execute(
        "UPDATE block SET data=?, checks=? WHERE id=?",
        (blocks.pack(ints), blocks.row_checks(ints), RUN_SPAN + 60),
    )
    verdict = book.verify(1)
    assert verdict.rows == ()
    assert verdict.findings == ("samples 60 to 119 do not match the chain",)


def test_a_chain_that_was_rebuilt_shows_against_the_printed_hash(book: Logbook) -> None:
    """What a chain cannot prove by itself, and what the printed hash is for."""
    printed = book.verify(1).short
    first = 120
    ints = _ints(book.connection, RUN_SPAN + first)
    ints[5, COLUMNS.index("process_c")] += 1000
    (before,) = book.connection.execute("SELECT hash FROM block WHERE id=?", (RUN_SPAN + 60,)).fetchone()
    book.connection.execute(
        "UPDATE block SET data=?, checks=?, hash=? WHERE id=?",
        (blocks.pack(ints), blocks.row_checks(ints), blocks.link(before, first, ints), RUN_SPAN + first),
    )
    rebuilt = book.verify(1)
    assert rebuilt.findings == ("the end (outcome, duration, summary) does not match the seal",)
    book.connection.execute("UPDATE run SET seal=? WHERE id=1", (rebuilt.value,))
    assert book.verify(1).complete
    assert book.verify(1).short != printed


@pytest.mark.parametrize(
    ("sql", "word"),
    [
        ("DELETE FROM block WHERE id = 4294967296 + 60", "samples 60 to 119 are missing"),
        ("DELETE FROM block WHERE id = 4294967296 + 120", "the end counts 130 samples, the record has 120"),
        ("DELETE FROM event WHERE id = 4294967296 + 1", "events 1 to 1 are missing"),
        ("DELETE FROM event WHERE id = 4294967296 + 2", "the end counts 3 events, the record has 2"),
        ("UPDATE event SET text = 'nothing happened' WHERE id = 4294967296 + 1", 'event 1 ("alarm"'),
        ("UPDATE event SET at_s = at_s + 1 WHERE id = 4294967296", 'event 0 ("alarm"'),
        ("UPDATE event SET data = '{\"n\":7}' WHERE id = 4294967296", 'event 0 ("alarm"'),
        ("UPDATE run SET outcome = 'tripped'", "does not match the seal"),
        ("UPDATE run SET summary = '{}'", "does not match the seal"),
        ("UPDATE run SET gaps = 1", "does not match the seal"),
        ("UPDATE run SET steel = '1095'", '"steel" of the run differs from its header'),
        ("UPDATE run SET header = replace(header, 'O1', '1095')", "the header"),
        ("UPDATE run SET started_utc = started_utc - 86400", '"started_utc" of the run differs'),
        ("UPDATE block SET data = x'00' WHERE id = 4294967296", "samples 0 to 59 cannot be read"),
        ("UPDATE block SET count = 59 WHERE id = 4294967296", "cannot be read"),
    ],
)
def test_whatever_is_changed_is_said(book: Logbook, sql: str, word: str) -> None:
    assert book.connection.execute(sql).rowcount == 1
    verdict = book.verify(1)
    assert any(word in finding for finding in verdict.findings), verdict.findings
    assert not verdict.complete


def test_two_blocks_exchanged_are_found(book: Logbook) -> None:
    for sql in ("id = -1 WHERE id = 4294967296", "id = 4294967296 WHERE id = 4294967296 + 60",
                "id = 4294967296 + 60 WHERE id = -1"):  # fmt: skip
        book.connection.execute(f"UPDATE block SET {sql}")
    assert not book.verify(1).chain_holds


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    row=st.integers(0, ROWS - 1),
    column=st.sampled_from(COLUMNS),
    step=st.integers(-(2**40), 2**40).filter(bool),
)
def test_any_change_of_any_value_is_found(book: Logbook, row: int, column: str, step: int) -> None:
    key = RUN_SPAN + row // 60 * 60
    before = book.connection.execute("SELECT data FROM block WHERE id=?", (key,)).fetchone()
    ints = _ints(book.connection, key)
    ints[row % 60, COLUMNS.index(column)] += step
    book.connection.execute("UPDATE block SET data=? WHERE id=?", (blocks.pack(ints), key))
    verdict = book.verify(1)
    book.connection.execute("UPDATE block SET data=? WHERE id=?", (*before, key))
    assert verdict.rows == (row,)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(order=st.permutations(range(60)).filter(lambda p: p != list(range(60))))
def test_any_other_order_is_found(book: Logbook, order: list[int]) -> None:
    before = book.connection.execute("SELECT data, checks FROM block WHERE id=?", (RUN_SPAN,)).fetchone()
    ints = _ints(book.connection, RUN_SPAN)[order]
    values = (blocks.pack(ints), blocks.row_checks(ints), RUN_SPAN)
    book.connection.execute("UPDATE block SET data=?, checks=? WHERE id=?", values)
    verdict = book.verify(1)
    book.connection.execute("UPDATE block SET data=?, checks=? WHERE id=?", (*before, RUN_SPAN))
    assert not verdict.chain_holds


def test_a_run_without_end_is_incomplete_but_its_chain_holds(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        verdict = book.verify(one_run(book, end=False))
    assert verdict.chain_holds
    assert not verdict.ended
    assert not verdict.complete


def test_a_run_taken_out_is_missed_by_the_next(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        for _ in range(3):
            one_run(book, 10)
        reader = Reader(book.connection)
        assert reader.verify_all().whole
        book.connection.execute("DELETE FROM run WHERE id=2")
        found = reader.verify_all()
        assert found.book == ("the run before run 3 is missing",)
        assert not found.whole


def test_a_changed_entry_is_found(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        for reading in (58.0, 59.0, 60.0):
            entries.add(book, entries.Note("gouge 7", f"{reading} HRC"), START_UTC)
        reader = Reader(book.connection)
        assert reader.verify_all().book == ()
        data = json.dumps({"part": "gouge 7", "text": "64.0 HRC", "run": None, "who": ""})
        book.connection.execute("UPDATE entry SET data=? WHERE id=2", (data,))
        (finding,) = reader.verify_all().book
        assert finding.startswith("entry 2 (note of gouge 7) was changed")
