"""What a segment really was, and runs beside each other: heats drawn by ruler, so the answers are known."""

import pytest
from heats import START_UTC, TWO_SEGMENTS, header, ruled_run, temper

from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.report.achieved import achieved
from kilnctl.report.record import Record, load_record
from kilnctl.report.treatment_words import treatment


def _record(book: Logbook, run: int) -> Record:
    return load_record(Reader(book.connection), run)


def test_a_ruled_heat_is_measured_as_it_was_drawn(book: Logbook) -> None:
    ramp, soak = achieved(_record(book, ruled_run(book, hot_k=1.5)))
    assert ramp.rate_c_per_h == pytest.approx(180.0, abs=0.01)
    assert (ramp.rate_asked_c_per_h, ramp.goal_c) == (180.0, 218.0)
    assert (ramp.started_s, soak.started_s) == (0.0, 3960.0)
    assert (soak.soak_asked_s, soak.soak_s) == (7200.0, 7199.0)
    assert (soak.low_c, soak.high_c, soak.mean_c) == (219.5, 219.5, 219.5)
    assert soak.overshoot_k == pytest.approx(1.5)
    assert soak.energy_kwh == pytest.approx(0.4 * 1200 * 7199 / 3.6e6, abs=1e-5)


def test_a_spared_temper_is_measured_where_its_sensor_is_held(book: Logbook) -> None:
    """Its goal is the part's: the oven, held 25 K lower for a thin edge, has its own readings."""
    lower = TWO_SEGMENTS.replace('at = "218 C"', 'at = "218 C"\nsensor = "193 C"')
    run = book.start_run(header(profile=lower, period_s=1.0))
    book.append(run, temper(hot_k=-24.5)[3960:4560], [])
    record = _record(book, run)
    (soak,) = achieved(record)
    assert (soak.goal_c, soak.low_c, soak.high_c, soak.overshoot_k) == (218.0, 193.5, 193.5, 0.5)
    assert treatment(record.profile) == "tempered at 218 °C for 2 h (the sensor held at 193 °C)"


def test_a_soak_that_never_came_near_has_no_extremes(book: Logbook) -> None:
    run = book.start_run(header(profile=TWO_SEGMENTS, period_s=1.0))
    book.append(run, [s._replace(soak_oven_s=0.0) for s in temper(hot_k=-8.0)], [])
    _, soak = achieved(_record(book, run))
    assert (soak.low_c, soak.high_c, soak.mean_c) == (None, None, None)


def test_a_step_down_does_not_count_as_overshoot(book: Logbook) -> None:
    """Descending normalise cycles: the next soak begins thirty kelvin above its goal."""
    run = book.start_run(header(profile=TWO_SEGMENTS, period_s=1.0))
    in_band = 540  # the first second at 223 degC
    falling = [
        s._replace(process_c=max(219.0, 250.0 - 0.05 * i), soak_oven_s=max(0.0, i + 1.0 - in_band))
        for i, s in enumerate(temper()[3960:])
    ]
    book.append(run, falling, [])
    (soak,) = achieved(_record(book, run))
    assert soak.overshoot_k == pytest.approx(1.0)
    assert soak.high_c == 223.0


def test_a_ramp_that_never_arrived_has_no_overshoot(book: Logbook) -> None:
    run = book.start_run(header(profile=TWO_SEGMENTS, period_s=1.0))
    book.append(run, temper()[:3000], [])
    (ramp,) = achieved(_record(book, run))
    assert ramp.overshoot_k is None


def test_a_run_whose_profile_nobody_can_read_has_no_segments(book: Logbook) -> None:
    run = book.start_run(header(profile="written = 'by a newer program'"))
    book.append(run, temper()[:100], [])
    book.finish(run, "complete", {}, START_UTC)
    record = _record(book, run)
    assert record.profile is None
    assert achieved(record) == ()
