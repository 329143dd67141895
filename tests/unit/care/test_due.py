"""Counters and what is due: the worked examples of the job, an invented workshop."""

import pytest
from heats import START_UTC, header, one_run, samples

from kilnctl.care.due import DAY_S, counter_total, everything_due
from kilnctl.logbook import entries
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook


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
