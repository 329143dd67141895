"""The logbook as a file: what is written comes back, survives a new opening, or is refused."""

import math
import sqlite3
from pathlib import Path

import numpy as np
import pytest
from heats import START_UTC, a_book, events, header, one_run, samples

from kilnctl.errors import RecordError
from kilnctl.logbook import blocks
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.sample import COLUMNS, PER_UNIT, Sample
from kilnctl.logbook.writer import Logbook


def test_a_sample_comes_back_within_half_a_step_of_every_column(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        run = one_run(book, 700)
    with Reader(tmp_path / "logbook.sqlite") as reader:
        columns = reader.samples(run)
    for name, per_unit, given in zip(COLUMNS, PER_UNIT, zip(*samples(700), strict=True), strict=True):
        wanted = np.array(given, dtype=float)
        assert np.array_equal(np.isnan(wanted), np.isnan(columns[name])), name
        assert np.nanmax(np.abs(columns[name] - wanted), initial=0.0) <= 0.5 / per_unit + 1e-6, name


def test_second_by_second_and_in_one_piece_give_the_same_curve() -> None:
    with Logbook(None) as book:
        piecewise, whole = book.start_run(header()), book.start_run(header())
        for sample in samples(200):
            book.append(piecewise, [sample], [])
        book.append(whole, samples(200), [])
        reader = Reader(book.connection)
        assert np.array_equal(reader.curve(piecewise).ints, reader.curve(whole).ints)
        assert book.verify(piecewise).chain_holds


def test_a_run_is_taken_up_by_a_book_opened_anew(tmp_path: Path) -> None:
    made = samples(130)
    with a_book(tmp_path) as book:
        run = book.start_run(header())
        book.append(run, made[:70], events(2))
    with a_book(tmp_path) as book:
        book.append(run, made[70:], [])
        seal = book.finish(run, "complete", {}, START_UTC + 130)
        verdict = book.verify(run)
    assert verdict.complete
    assert verdict.value == seal
    assert (verdict.samples, verdict.events) == (130, 2)


def test_the_newest_sample_is_the_cursor_of_a_broken_run(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        run = one_run(book, 95, end=False)
    with Reader(tmp_path / "logbook.sqlite") as reader:
        broken = reader.unfinished("tempering-oven")
        assert broken is not None
        assert broken.run == run
        newest, given = reader.newest(run), samples(95)[-1]
        assert newest is not None
        assert newest.segment == given.segment
        assert newest.setpoint_c == pytest.approx(given.setpoint_c)
        assert newest.heat_on is given.heat_on
        assert reader.run(run).why_incomplete == "no end was recorded"


@pytest.mark.parametrize("absurd", [math.nan, math.inf, -math.inf, 1e300, None])
def test_what_no_number_can_be_is_kept_as_unknown(absurd: float | None) -> None:
    sample = samples(1)[0]._replace(process_c=absurd)
    ints = blocks.to_ints([sample])
    back = blocks.to_floats(blocks.unpack(blocks.pack(ints), 1))[0]
    assert math.isnan(back[COLUMNS.index("process_c")])
    assert back[COLUMNS.index("second_c")] == sample.second_c


def test_the_curve_can_be_read_from_a_row_on() -> None:
    with Logbook(None) as book:
        run = book.start_run(header())
        for sample in samples(150):
            book.append(run, [sample], [])
        reader = Reader(book.connection)
        whole = reader.curve(run).ints
        for start in (0, 1, 59, 60, 61, 149, 150, 500):
            assert np.array_equal(reader.curve(run, start).ints, whole[start:])
            for stop in (0, 1, 59, 60, 61, 150, 1000):
                assert np.array_equal(reader.curve(run, start, stop).ints, whole[start:stop])


def test_runs_are_kept_apart() -> None:
    with Logbook(None) as book:
        first, second = book.start_run(header()), book.start_run(header(oven="hardening-furnace"))
        for one, other in zip(samples(80, seed=1), samples(80, seed=2), strict=True):
            book.append(first, [one], events(1))
            book.append(second, [other], [])
        reader = Reader(book.connection)
        assert not np.array_equal(reader.curve(first).ints, reader.curve(second).ints)
        assert len(reader.events(first)) == 80
        assert reader.events(second) == []
        assert book.verify(first).chain_holds
        assert book.verify(second).chain_holds


def test_an_ended_run_takes_nothing_more(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        run = one_run(book)
        with pytest.raises(RecordError, match="has ended"):
            book.append(run, samples(1), [])
        with pytest.raises(RecordError, match="has ended"):
            book.finish(run, "complete", {})
        with pytest.raises(RecordError, match="no run 99"):
            book.append(99, samples(1), [])


def test_a_gap_over_three_periods_makes_the_run_incomplete(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        for pause_s, gaps in ((2.5, 0), (3.5, 1)):
            run = book.start_run(header(period_s=1.0))
            book.append(run, samples(10), [])
            book.append(run, samples(10, start_s=9 + pause_s), [])
            book.finish(run, "complete", {}, START_UTC)
            info = Reader(book.connection).run(run)
            assert info.gaps == gaps
            assert info.complete is (gaps == 0)
            assert book.verify(run).complete is (gaps == 0)


@pytest.mark.parametrize("name", ["werkstatt büro", "a % of # and ?", "with spaces", "日本"])
def test_any_path_will_do(tmp_path: Path, name: str) -> None:
    folder = tmp_path / name
    folder.mkdir()
    with a_book(folder) as book:
        run = one_run(book)
        with Reader(folder / "logbook.sqlite") as reader:
            assert reader.run(run).complete


def test_a_file_that_is_no_logbook_is_refused_in_one_line(tmp_path: Path) -> None:
    path = tmp_path / "logbook.sqlite"
    path.write_bytes(b"not a database at all, but long enough to look like one" * 50)
    for opening in (Logbook, Reader):
        with pytest.raises(RecordError) as e:
            opening(path)
        assert "\n" not in str(e.value)
    with pytest.raises(RecordError, match="no logbook here yet"):
        Reader(tmp_path / "nothing.sqlite")


def test_the_commit_is_on_the_disk_when_append_returns(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        assert book.connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
        assert book.connection.execute("PRAGMA synchronous").fetchone()[0] == 2  # FULL
        run = book.start_run(header())
        book.append(run, samples(1), [])
        other = sqlite3.connect(tmp_path / "logbook.sqlite")
        assert other.execute("SELECT sum(count) FROM block").fetchone()[0] == 1
        other.close()


def test_only_its_owner_can_read_a_new_logbook(tmp_path: Path) -> None:
    with a_book(tmp_path):
        assert (tmp_path / "logbook.sqlite").stat().st_mode & 0o777 == 0o600


def test_a_sample_has_the_agreed_columns() -> None:
    agreed = (
        "elapsed_s utc_s state segment setpoint_c process_c duty heat_on raw_count second_c load_c part_c"
        " contactor_on unexplained segment_s soak_oven_s soak_part_s dose20_s dose_c_s energy_kwh quality"
    )
    assert Sample._fields == tuple(agreed.split())
