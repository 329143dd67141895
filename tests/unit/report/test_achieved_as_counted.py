"""What a page tells of a soak against the seconds that were counted, taken from the CSV alone.

The judge knows the public columns only: a second was counted where the soak's credit rises in that row. It
reads with the standard csv module, and shares nothing with the page.
"""

import csv
from collections.abc import Callable
from pathlib import Path

import pytest
from heats import START_UTC, TWO_SEGMENTS, header, temper

from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.errors import ProfileError
from kilnctl.heat.job import Job
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.sample import Sample
from kilnctl.logbook.writer import Logbook
from kilnctl.profile.segments import Profile
from kilnctl.rehearsal.dry_run import rehearse
from kilnctl.report.achieved import achieved
from kilnctl.report.csv_export import write_csv
from kilnctl.report.record import Record, load_record
from kilnctl.report.steps_table import steps
from kilnctl.report.treatment_words import verdict
from kilnctl.tomlfile import loads


def counted_c(path: Path, credit: str = "soak_oven_s", segment: str = "1") -> list[float]:
    """The judge: every reading of a row in which the credit has risen."""
    with path.open(newline="", encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["segment"] == segment]
    before = [0.0, *(float(row[credit]) for row in rows)]
    return [
        float(row["process_c"]) for row, had in zip(rows, before, strict=False) if float(row[credit]) > had
    ]


def drawn(book: Logbook, at_c: Callable[[int], float], seconds: int) -> Record:
    """A soak at 218 degC whose credit rises in the band of 5 K, as the cursor counts it."""
    made: list[Sample] = []
    credit_s = 0.0
    for i, sample in enumerate(temper(soak_s=seconds)[3960:]):
        credit_s += abs(at_c(i) - 218.0) <= 5.0
        made.append(sample._replace(process_c=at_c(i), segment_s=i + 1.0, soak_oven_s=credit_s))
    run = book.start_run(header(profile=TWO_SEGMENTS, period_s=1.0))
    book.append(run, made, [])
    book.finish(run, "complete", {"cause": ""}, START_UTC + 3960 + seconds)
    return load_record(Reader(book.connection), run)


def slowly_into_it(i: int) -> float:
    return min(219.5, 214.0 + i / 100.0)  # a third of its time before the goal is touched


def opened_in_between(i: int) -> float:
    return 190.0 if 300 <= i < 400 else 216.2 if i < 200 else 219.0


def from_above(i: int) -> float:
    return max(217.5, 224.0 - i / 100.0)


@pytest.mark.parametrize("at_c", [slowly_into_it, opened_in_between, from_above])
def test_what_is_counted_is_what_is_told(book: Logbook, tmp_path: Path, at_c: Callable[[int], float]) -> None:
    record = drawn(book, at_c, 1200)
    write_csv(record, tmp_path / "run.csv")
    seen_c = counted_c(tmp_path / "run.csv")
    (soak,) = achieved(record)
    assert (soak.low_c, soak.high_c) == (min(seen_c), max(seen_c))
    assert soak.mean_c == pytest.approx(sum(seen_c) / len(seen_c))
    (row,) = steps(record, (soak,)).rows
    assert f"{min(seen_c):.1f} to {max(seen_c):.1f} °C" in row


def test_the_page_tells_of_an_oven_that_fell_out_of_the_band(book: Logbook) -> None:
    record = drawn(book, opened_in_between, 7300)
    said, _ = verdict(record, achieved(record))
    assert "the oven fell to 190 °C in between, and only time in the band was counted" in said
    said, _ = verdict(record, achieved(drawn(book, slowly_into_it, 7300)))
    assert "(oven 214 to 220 °C)" in said


def test_the_goal_never_touched_but_the_band_held_is_told(book: Logbook) -> None:
    """Two hours counted 3 K below the goal: the page named no reading at all."""
    (soak,) = achieved(drawn(book, lambda _: 215.0, 600))
    assert (soak.soak_s, soak.low_c, soak.high_c) == (600.0, 215.0, 215.0)


REHEARSED = """
name = "short hold (invented)"
steel = "O1"
section = "4 mm"
[[segment]]
kind = "ramp"
to = "120 C"
rate = "900 C/h"
purpose = "temper"
[[segment]]
kind = "soak"
at = "120 C"
time = "3min"
band = "5 K"
clock = "oven"
purpose = "temper"
"""


@pytest.mark.parametrize("clock", ["oven", "part"])
def test_page_and_summary_of_a_rehearsed_heat_tell_what_its_csv_counts(tmp_path: Path, clock: str) -> None:
    oven = load_oven(bundled("ovens") / "tempering-oven.toml")
    profile = loads(REHEARSED.replace('"oven"', f'"{clock}"'), Profile, ProfileError, "test.toml")
    rehearsal = rehearse(oven, Job(profile))
    outcome = rehearsal.run()
    record = load_record(Reader(rehearsal.book.connection), rehearsal.run_id)
    write_csv(record, tmp_path / "run.csv")
    seen_c = counted_c(tmp_path / "run.csv", f"soak_{clock}_s")
    soak = achieved(record)[1]
    assert (soak.low_c, soak.high_c) == (min(seen_c), max(seen_c))
    line = outcome.summary["segments"][1]
    # the tick that fills the soak stands in the record as the first of what comes next
    assert (line["min_c"], line["max_c"]) == pytest.approx((min(seen_c), max(seen_c)), abs=0.3)
    said, _ = verdict(record, achieved(record))
    assert f"(oven {min(seen_c):.0f} to {max(seen_c):.0f} °C)" in said
