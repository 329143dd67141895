"""Exports of an earlier kilnctl still verify and come back: invented data, format 1, as it was written."""

import json
from pathlib import Path

import numpy as np
import pytest
from heats import one_run, samples

from kilnctl.errors import RecordError
from kilnctl.logbook import blocks
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.restore import archive_run, restore_run
from kilnctl.logbook.writer import Logbook
from kilnctl.report.csv_export import HEAD, check_csv, read_csv, write_csv
from kilnctl.report.json_export import check_json, read_json, write_json
from kilnctl.report.record import load_record

OLD = Path(__file__).parent / "old"
SHORT = "4944-a56b-d5d5-2b88"


def test_an_old_table_verifies_and_reads_back_to_the_same_samples() -> None:
    assert "raw_c" in (OLD / "format-1.csv").read_text().splitlines()[0]
    assert check_csv(OLD / "format-1.csv") == ((), SHORT, "SIMULATED")
    assert np.array_equal(read_csv(OLD / "format-1.csv"), blocks.to_ints(samples(40)))


def test_an_old_run_comes_back_with_its_chain() -> None:
    assert check_json(OLD / "format-1.json").short == SHORT
    with Logbook(None) as book:
        run = restore_run(book, read_json(OLD / "format-1.json"))
        assert Reader(book.connection).verify(run).chain_holds
        assert np.array_equal(Reader(book.connection).curve(run).ints, blocks.to_ints(samples(40)))


def test_a_changed_row_of_an_old_table_is_found(tmp_path: Path) -> None:
    text = (OLD / "format-1.csv").read_text().replace(",201.000,", ",202.000,", 1)
    (tmp_path / "run.csv").write_text(text)
    assert "row 1 " in check_csv(tmp_path / "run.csv")[0][0]


@pytest.fixture
def written(tmp_path: Path) -> Path:
    with Logbook(None) as book:
        reader = Reader(book.connection)
        run = one_run(book, 40)
        write_csv(load_record(reader, run), tmp_path / "run.csv")
        write_json(load_record(reader, run), archive_run(reader, run), tmp_path / "run.json")
    return tmp_path


def test_a_register_count_is_no_temperature(written: Path) -> None:
    """The column was once called raw_c and held 195 where the oven was at 19.5 degC."""
    assert "raw_count" in HEAD
    assert "raw_c" not in HEAD
    data = json.loads((written / "run.json").read_text())
    assert data["format"] == 2
    assert "raw_count" in data["samples"]
    assert np.array_equal(read_csv(written / "run.csv"), blocks.to_ints(samples(40)))
    assert read_json(written / "run.json").header == read_json(OLD / "format-1.json").header


def test_a_table_of_a_newer_program_is_refused(written: Path) -> None:
    head, *rows = (written / "run.csv").read_text().splitlines()
    place = head.split(",").index("format")
    newer = [",".join("99" if i == place else v for i, v in enumerate(row.split(","))) for row in rows]
    (written / "run.csv").write_text("\r\n".join([head, *newer]) + "\r\n")
    with pytest.raises(RecordError, match="newer kilnctl"):
        read_csv(written / "run.csv")
