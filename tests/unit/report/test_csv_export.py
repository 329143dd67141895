"""The CSV export: read back exactly, read in another language, and every change named by its row."""

import csv
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from heats import START_UTC, header, one_run, samples
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kilnctl.errors import RecordError
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.report.csv_export import FIRST, HEAD, against_logbook, check_csv, read_csv, write_csv
from kilnctl.report.record import load_record


@pytest.fixture
def path(tmp_path: Path, book: Logbook) -> Path:
    out = tmp_path / "run.csv"
    write_csv(load_record(Reader(book.connection), one_run(book, 300)), out)
    return out


def test_the_table_begins_as_agreed_and_names_its_units(path: Path) -> None:
    agreed = "elapsed_s,utc,state,segment,setpoint_c,process_c,duty,heat_on"
    assert path.read_text().startswith(agreed)
    assert ",".join(FIRST) == agreed


def test_what_is_read_back_is_identical(path: Path, book: Logbook) -> None:
    assert np.array_equal(read_csv(path), Reader(book.connection).curve(1).ints)


def test_every_line_says_whose_it_is(path: Path) -> None:
    with path.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 300
    assert {row["run"] for row in rows} == {"1"}
    assert {row["marks"] for row in rows} == {"SIMULATED"}
    assert rows[0]["utc"].endswith("Z")
    assert rows[0]["state"] == "running"
    assert rows[-1]["row"] == rows[-1]["rows"] == "300"


def test_a_run_without_end_is_marked_on_every_line(tmp_path: Path, book: Logbook) -> None:
    out = tmp_path / "broken.csv"
    write_csv(load_record(Reader(book.connection), one_run(book, 20, end=False, simulated=False)), out)
    with out.open(newline="", encoding="utf-8") as file:
        assert {row["marks"] for row in csv.DictReader(file)} == {"INCOMPLETE"}


def test_a_program_in_another_language_reads_the_same_numbers(path: Path, book: Logbook) -> None:
    awk = shutil.which("awk")
    assert awk is not None, "awk is part of every POSIX system"
    column = HEAD.index("process_c") + 1
    program = f'NR > 1 {{ n++; sum += ${column} }} END {{ printf "%d %.3f", n, sum }}'
    done = subprocess.run([awk, "-F,", program, str(path)], capture_output=True, text=True, check=True)
    count, total = done.stdout.split()
    process_c = Reader(book.connection).curve(1).column("process_c")
    assert int(count) == 300
    assert float(total) == pytest.approx(float(process_c.sum()), abs=1e-3)


def test_an_untouched_table_fits_its_checks(path: Path, book: Logbook) -> None:
    findings, short, marks = check_csv(path)
    assert (findings, marks) == ((), "SIMULATED")
    assert short == book.verify(1).short
    assert against_logbook(path, Reader(book.connection), short) == ()


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(row=st.integers(1, 300), column=st.integers(0, len(HEAD) - 2), digit=st.sampled_from("0123456789x"))
def test_any_changed_field_is_named_by_its_row(path: Path, row: int, column: int, digit: str) -> None:
    lines = path.read_text().splitlines()
    fields = lines[row].split(",")
    fields[column] += digit
    changed = path.with_name("changed.csv")
    changed.write_text("\n".join([*lines[:row], ",".join(fields), *lines[row + 1 :]]) + "\n")
    findings, _, _ = check_csv(changed)
    assert findings[0].startswith(f"row {row} (at ")
    assert sum(finding.startswith("row ") for finding in findings) == 1


@pytest.mark.parametrize("cut", [slice(1, 200), slice(150, 301), slice(100, 101), slice(299, 301)])
def test_missing_lines_are_found(path: Path, cut: slice) -> None:
    lines = path.read_text().splitlines()
    del lines[cut]
    path.write_text("\n".join(lines) + "\n")
    findings, _, _ = check_csv(path)
    assert any("missing" in finding for finding in findings)


def test_exchanged_lines_are_found(path: Path) -> None:
    lines = path.read_text().splitlines()
    lines[10], lines[11] = lines[11], lines[10]
    path.write_text("\n".join(lines) + "\n")
    assert check_csv(path)[0]


def test_a_table_made_anew_is_found_by_the_logbook(path: Path, book: Logbook, tmp_path: Path) -> None:
    """Checks can be rebuilt by whoever has the program; the logbook knows better."""
    with Logbook(None) as forged:
        run = forged.start_run(header())
        made = samples(300)
        made[149] = made[149]._replace(process_c=217.9)
        forged.append(run, made, [])
        forged.finish(run, "complete", {}, START_UTC)
        other = tmp_path / "forged.csv"
        write_csv(load_record(Reader(forged.connection), run), other)
    assert check_csv(other)[0] == ()
    known = book.verify(1).short
    assert against_logbook(other, Reader(book.connection), known) == (
        "row 150 differs from run 1 of the logbook",
    )
    assert against_logbook(other, Reader(book.connection), check_csv(other)[1]) is None


def test_a_line_of_another_export_in_the_same_place_is_found(
    path: Path, book: Logbook, tmp_path: Path
) -> None:
    run = book.start_run(header())
    book.append(run, samples(300, seed=2), [])
    book.finish(run, "complete", {}, START_UTC)
    other = tmp_path / "other.csv"
    write_csv(load_record(Reader(book.connection), run), other)
    lines, theirs = path.read_text().splitlines(), other.read_text().splitlines()
    lines[100] = theirs[100]
    path.write_text("\n".join(lines) + "\n")
    assert any(finding.startswith("row 100 ") for finding in check_csv(path)[0])


@pytest.mark.parametrize(
    ("text", "word"),
    [("", "not a table"), ("a,b\n1,2\n", "not a table"), (",".join(FIRST) + "\n1,2\n", "no checks")],
)
def test_other_tables_are_refused_in_one_line(tmp_path: Path, text: str, word: str) -> None:
    other = tmp_path / "other.csv"
    other.write_text(text)
    with pytest.raises(RecordError, match=word) as e:
        check_csv(other)
    assert "\n" not in str(e.value)
    with pytest.raises(RecordError):
        read_csv(other)
