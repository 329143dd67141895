"""Runs beside each other: heats drawn by ruler, so the answers are known."""

import pytest
from heats import TWO_SEGMENTS, header, ruled_run, temper

from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.report.compare import compare
from kilnctl.report.compare_page import compare_page
from kilnctl.report.layout.text_page import print_document
from kilnctl.report.record import Record, load_record
from kilnctl.report.workshop import Workshop


def _record(book: Logbook, run: int) -> Record:
    return load_record(Reader(book.connection), run)


def test_the_same_run_twice_gives_zeros(book: Logbook) -> None:
    record = _record(book, ruled_run(book))
    (found,) = compare((record, record))
    assert (found.duration_s, found.energy_kwh, found.equivalence20_s, found.equivalence_c_s) == (0, 0, 0, 0)
    for part in found.segments:
        known = (part.duration_s, part.rate_c_per_h, part.soak_s, part.overshoot_k, part.mean_k, part.rms_k)
        assert [value for value in known if value] == []


def test_a_soak_five_kelvin_hotter_is_five_kelvin_hotter(book: Logbook) -> None:
    first, other = (_record(book, ruled_run(book, hot_k=k)) for k in (0.0, 5.0))
    (found,) = compare((first, other))
    ramp, soak = found.segments
    assert soak.mean_k == pytest.approx(5.0, abs=0.1)  # J23
    assert soak.rms_k == pytest.approx(5.0, abs=0.1)
    assert ramp.mean_k == pytest.approx(0.0, abs=0.01)
    assert soak.overshoot_k == pytest.approx(5.0)


def test_a_longer_soak_is_seen(book: Logbook) -> None:
    first, other = (_record(book, ruled_run(book, soak_s=s)) for s in (7200, 9000))
    (found,) = compare((first, other))
    assert found.duration_s == 1800.0
    assert found.segments[1].soak_s == 1800.0
    assert found.equivalence20_s == 1800.0
    assert found.segments[1].mean_k == 0.0


def test_a_segment_that_only_one_run_has_is_named(book: Logbook, capsys: pytest.CaptureFixture[str]) -> None:
    whole = _record(book, ruled_run(book))
    run = book.start_run(header(profile=TWO_SEGMENTS, period_s=1.0))
    book.append(run, temper()[:3000], [])
    broken = _record(book, run)
    (found,) = compare((whole, broken))
    assert (found.only_first, found.only_other) == (("soak",), ())
    print_document(compare_page((whole, broken), Workshop()))
    text = capsys.readouterr().out
    assert max(map(len, text.splitlines())) <= 80
    assert "INCOMPLETE" in text
    assert "SIMULATED" in text
    assert "Only run 1 has: soak." in text
