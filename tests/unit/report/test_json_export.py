"""The JSON export: the same run comes out of it, and nobody changes it unnoticed."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from heats import one_run
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kilnctl.errors import RecordError
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.restore import archive_run, restore_run
from kilnctl.logbook.sample import COLUMNS, DECIMALS
from kilnctl.logbook.writer import Logbook
from kilnctl.report.json_export import check_json, read_json, write_json
from kilnctl.report.record import load_record


@pytest.fixture
def path(tmp_path: Path, book: Logbook) -> Path:
    reader, run = Reader(book.connection), one_run(book, 150)
    out = tmp_path / "run.json"
    write_json(load_record(reader, run), archive_run(reader, run), out)
    return out


def test_the_same_run_comes_back(path: Path, book: Logbook) -> None:
    with Logbook(None) as other:
        run = restore_run(other, read_json(path))
        ours, theirs = Reader(book.connection), Reader(other.connection)
        assert np.array_equal(ours.curve(1).ints, theirs.curve(run).ints)
        assert theirs.events(run) == ours.events(1)
        assert theirs.summary(run) == ours.summary(1)
        assert theirs.verify(run).value == ours.verify(1).value
        assert theirs.run(run).imported


def test_units_time_base_and_marks_are_stated(path: Path) -> None:
    data = json.loads(path.read_text())
    assert "degC" in data["about"]
    assert "UTC" in data["about"]
    assert data["marks"] == ["SIMULATED"]
    assert list(data["samples"]) == list(COLUMNS)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(row=st.integers(0, 149), column=st.integers(0, len(COLUMNS) - 1), step=st.integers(1, 10**6))
def test_any_changed_number_is_named_by_its_row(path: Path, row: int, column: int, step: int) -> None:
    data = json.loads(path.read_text())
    values = data["samples"][COLUMNS[column]]
    values[row] = (values[row] or 0) + (step if DECIMALS[column] == 0 else step / 10 ** DECIMALS[column])
    assert _checked(path, data).rows == (row,)


def _checked(path: Path, data: dict[str, Any]) -> Any:
    changed = path.with_name("changed.json")
    changed.write_text(json.dumps(data))
    return check_json(changed)


def test_other_changes_are_found_too(path: Path) -> None:
    def change(how: str) -> Any:
        data = json.loads(path.read_text())
        exec(how, {"d": data})
        return _checked(path, data)

    assert change("pass").complete
    for how in (
        "d['events'][1]['text'] = 'nothing'",
        "d['end']['outcome'] = 'tripped'",
        "d['end']['summary'] = {}",
        "d['header'] = d['header'].replace('O1', '1095')",
        "d['events'].pop()",
        "d['seal'] = '00' * 32",
    ):
        assert not change(how).complete, how


def test_rows_taken_out_are_refused(path: Path) -> None:
    data = json.loads(path.read_text())
    for values in data["samples"].values():
        values.pop()
    with pytest.raises(RecordError, match="rows were added or taken out"):
        _checked(path, data)


@pytest.mark.parametrize("text", ["", "[]", "{}", "null", '{"format": 1}', '{"format": 99}', "not json"])
def test_other_files_are_refused_in_one_line(tmp_path: Path, text: str) -> None:
    other = tmp_path / "other.json"
    other.write_text(text)
    with pytest.raises(RecordError) as e:
        read_json(other)
    assert "\n" not in str(e.value)


@pytest.mark.parametrize("text", ["workshop", "[]", "{}", '{"samples": 3}'])
def test_a_file_that_is_no_export_is_told_without_the_words_of_a_parser(tmp_path: Path, text: str) -> None:
    other = tmp_path / "other.json"
    other.write_text(text, encoding="utf-8")
    with pytest.raises(RecordError, match="export the run again with `kilnctl export N") as told:
        read_json(other)
    assert "Error" not in str(told.value)
    assert "\n" not in str(told.value)
