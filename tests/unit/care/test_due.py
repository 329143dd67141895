"""Counters and what is due: the worked examples of the job, an invented workshop."""

import json
import time
from pathlib import Path

import pytest
from heats import START_UTC, header, one_run, samples

from kilnctl.care.due import counter_total, everything_due, overdue_on
from kilnctl.cli.main import run as kilnctl
from kilnctl.config import home
from kilnctl.config.home import bundled
from kilnctl.logbook import entries
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.report.measured_with import sensors
from kilnctl.report.record import load_record
from kilnctl.units import DAY_S


def test_counters_add_up_and_start_anew() -> None:
    with Logbook(None) as book:
        one_run(book, 600)
        on_s = sum(1.0 for s in samples(600) if s.heat_on)
        reader = Reader(book.connection)
        total_h = counter_total(reader, "tempering-oven", "element hours")
        assert total_h * 3600 == pytest.approx(on_s, abs=3.0)
        entries.add(book, entries.CareDone("tempering-oven", "element hours"), START_UTC + 1000)
        assert counter_total(reader, "tempering-oven", "element hours") == 0.0
        one_run(book, 600, started_utc=START_UTC + 2000)
        assert counter_total(reader, "tempering-oven", "element hours") == pytest.approx(total_h)


def test_a_hundred_hot_sensor_hours_are_due() -> None:
    with Logbook(None) as book:
        reminder = entries.Reminder(
            "hardening-furnace", "replace the sensor", None, "sensor hours above 800 °C", 100.0
        )
        entries.add(book, reminder, START_UTC)
        reader = Reader(book.connection)
        assert everything_due(reader, START_UTC) == []
        entries.add(book, entries.Count("hardening-furnace", "sensor hours above 800 °C", 95.0), START_UTC)
        (soon,) = everything_due(reader, START_UTC)
        assert not soon.overdue
        run = book.start_run(header(oven="hardening-furnace", started_utc=START_UTC + 1))
        hot = [
            s._replace(elapsed_s=5.0 * i, process_c=830.0, part_c=None) for i, s in enumerate(samples(3700))
        ]
        book.append(run, hot, [])
        book.finish(run, "complete", {}, START_UTC)
        (due,) = everything_due(reader, START_UTC)  # J43: 95 h by hand + 5.1 h of this run
        assert due.overdue
        assert "100 of 100 h" in due.words


def test_expiring_steps_are_told_before_and_after() -> None:
    with Logbook(None) as book:
        step = entries.CommissioningStep(
            "tempering-oven", "limit test", True, expires_utc=START_UTC + 90 * DAY_S
        )
        entries.add(book, step, START_UTC)
        reader = Reader(book.connection)
        assert everything_due(reader, START_UTC) == []
        (soon,) = everything_due(reader, START_UTC + 80 * DAY_S)
        assert (soon.overdue, "due in 10 days" in soon.words) == (False, True)
        (late,) = everything_due(reader, START_UTC + 93 * DAY_S)
        assert (late.overdue, "3 days overdue" in late.words) == (True, True)
        assert everything_due(reader, START_UTC + 93 * DAY_S, oven="hardening-furnace") == []


def test_a_reminder_comes_back_after_it_was_done() -> None:
    with Logbook(None) as book:
        entries.add(book, entries.Reminder("workshop", "weigh the extinguisher", 180.0), START_UTC)
        reader = Reader(book.connection)
        assert len(everything_due(reader, START_UTC + 200 * DAY_S)) == 1
        entries.add(book, entries.CareDone("workshop", "weigh the extinguisher"), START_UTC + 200 * DAY_S)
        assert everything_due(reader, START_UTC + 201 * DAY_S) == []
        assert len(everything_due(reader, START_UTC + 381 * DAY_S)) == 1


def _calibrated(utc_s: float, book: Logbook) -> None:
    points = ((219.5, 218.0), (251.2, 249.0))
    made = entries.Calibration("tempering-oven", "process", 1.0, -1.5, points, -1.5, None, "K sensor 3")
    entries.add(book, made, utc_s)


def test_what_is_overdue_of_an_oven_is_what_was_known_then() -> None:
    """A year after its calibration it is overdue; one that came later changes nothing for that day."""
    with Logbook(None) as book:
        reader = Reader(book.connection)
        assert overdue_on(reader, "tempering-oven", START_UTC) == ()
        _calibrated(START_UTC, book)
        assert overdue_on(reader, "tempering-oven", START_UTC + 364 * DAY_S) == ()
        (late,) = overdue_on(reader, "tempering-oven", START_UTC + 370 * DAY_S)
        assert late == "calibration of the process sensor: 5 days overdue"
        _calibrated(START_UTC + 371 * DAY_S, book)
        assert overdue_on(reader, "tempering-oven", START_UTC + 370 * DAY_S) == (late,)
        assert overdue_on(reader, "tempering-oven", START_UTC + 372 * DAY_S) == ()
        assert overdue_on(reader, "hardening-furnace", START_UTC + 370 * DAY_S) == ()
        gone = entries.Calibration("tempering-oven", "process", 1.0, 0.0, (), 0.0, None, "")
        entries.add(book, gone, START_UTC + 371.5 * DAY_S)
        assert overdue_on(reader, "tempering-oven", START_UTC + 800 * DAY_S) == ()
        reminder = entries.Reminder("tempering-oven", "hardness check of a coupon", 30.0)
        entries.add(book, reminder, START_UTC + 372 * DAY_S)
        assert overdue_on(reader, "tempering-oven", START_UTC + 403 * DAY_S) == (
            "hardness check of a coupon: 1 days overdue",
        )
        entries.add(book, entries.CareDone("tempering-oven", reminder.what), START_UTC + 403 * DAY_S)
        assert overdue_on(reader, "tempering-oven", START_UTC + 404 * DAY_S) == ()


def test_the_record_of_a_heat_says_what_was_overdue_when_it_began() -> None:
    with Logbook(None) as book:
        _calibrated(START_UTC - 400 * DAY_S, book)
        run = one_run(book, 60)
        _calibrated(START_UTC + DAY_S, book)
        reader = Reader(book.connection)
        rows = dict(sensors(reader, load_record(reader, run)))
    assert rows["overdue when it began"] == "calibration of the process sensor: 35 days overdue"


def test_a_plan_says_it_and_a_start_is_refused_where_the_oven_file_asks(
    own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = own_home / "ovens" / "tempering-oven.toml"
    file.parent.mkdir(parents=True, exist_ok=True)
    text = (bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
    file.write_text(text, encoding="utf-8")
    with Logbook(home.logbook_path()) as book:
        _calibrated(time.time() - 400 * DAY_S, book)
    job = ["plan", "--oven", "tempering-oven", "gouge-o1-temper"]
    assert kilnctl(job) == 0
    assert "OVERDUE on tempering-oven: calibration of the process sensor" in capsys.readouterr().out
    assert kilnctl([*job, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["overdue"]
    file.write_text(
        text.replace('use = "tempering"', 'use = "tempering"\noverdue = "refuse"'), encoding="utf-8"
    )
    assert kilnctl(job) == 0
    assert "lets no heat start" in " ".join(capsys.readouterr().out.split())
