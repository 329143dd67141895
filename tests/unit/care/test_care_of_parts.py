"""Hardness, warp, counters and what is due: the worked examples of the job, invented parts."""

import pytest
from heats import START_UTC, header, one_run, samples

from kilnctl.care.due import DAY_S, counter_total, everything_due
from kilnctl.care.hardness_tests import by_files, by_tester
from kilnctl.care.warp import pattern
from kilnctl.errors import ConfigError
from kilnctl.logbook import entries
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook


def test_files_give_an_interval() -> None:
    found = by_files("gouge 7", [(55.0, "skates"), (60.0, "cuts")], bare_metal=True)  # J25
    assert (found.low_hrc, found.high_hrc, found.words) == (55.0, 60.0, "55–60 HRC")
    assert by_files("p", [(65.0, "cuts")], True).words == "below 65 HRC"
    assert by_files("p", [(50.0, "skates"), (55.0, "skates")], True).words == "above 55 HRC"


def test_contradictory_files_are_not_averaged() -> None:
    found = by_files("gouge 7", [(55.0, "cuts"), (60.0, "skates")], bare_metal=True)
    assert "contradictory" in found.words
    assert (found.low_hrc, found.high_hrc) == (None, None)


def test_a_tester_is_corrected_by_its_block() -> None:
    found = by_tester("gouge 7", [58.1, 58.4, 57.7], (60.0, 60.9), bare_metal=True)  # J25
    assert "mean 58.1" in found.words
    assert "block-corrected 57.2" in found.words
    assert found.low_hrc == pytest.approx(56.8)


def test_scale_is_warned_of() -> None:
    assert "bare metal" in by_files("p", [(60.0, "skates")], bare_metal=False).words
    assert "bare metal" in by_tester("p", [58.0], None, bare_metal=False).words


def test_nonsense_is_refused() -> None:
    with pytest.raises(ConfigError, match="neither"):
        by_files("p", [(60.0, "slides")], True)
    with pytest.raises(ConfigError, match="at least one"):
        by_files("p", [], True)
    with pytest.raises(ConfigError, match="at least one"):
        by_tester("p", [], None, True)
    with pytest.raises(ConfigError, match="block"):
        by_tester("p", [58.0], (60.0, 66.0), True)


def _bows(sides: str) -> list[entries.Warp]:
    names = {"l": "left", "r": "right"}
    return [entries.Warp(f"knife {i}", 1.0 + 0.1 * i, names[s]) for i, s in enumerate(sides)]


def test_five_bows_of_six_to_one_side_have_a_cause() -> None:
    assert pattern(_bows("llrlll")).startswith("5 of 6 bow left, 1.0–1.5 mm: systematic")  # J40
    assert pattern(_bows("lrlrlr")) == ""
    assert pattern(_bows("llrl")) == ""
    assert pattern(_bows("rrrr" + "llrlll")).startswith("5 of 6 bow left")  # only the newest six count


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


def test_a_correction_is_a_new_row_and_the_old_one_stays() -> None:
    with Logbook(None) as book:
        wrong = entries.add(book, entries.PartEntry("gouge 7", steel="5160"), START_UTC)
        entries.add(book, entries.PartEntry("gouge 7", steel="O1"), START_UTC + 60, corrects=wrong)
        reader = Reader(book.connection)
        assert [p.steel for p in entries.read(reader, entries.PartEntry, "gouge 7")] == ["O1"]
        assert [row.data["steel"] for row in reader.entries("part", "gouge 7")] == ["5160", "O1"]
        newest = entries.newest(reader, entries.PartEntry, "gouge 7")
        assert newest is not None
        assert newest[0].corrects == wrong


def test_every_kind_of_entry_comes_back_as_it_went_in() -> None:
    made = [
        entries.CommissioningStep(
            "o", "dead-man", True, 4.2, "s", START_UTC, "ok", "maker", "ab12", {"n": 1}
        ),
        entries.LearnedOven("o", {"tau_s": 1536.0}, 3),
        entries.LatchChange("o", "reset", "over_temperature", "861 C", "A", "door was open"),
        entries.PartEntry("p", "O1", "bar 12", 6.0, 4),
        entries.Calibration(
            "o", "process", 0.99593, -0.607, ((219.5, 218.0), (834.0, 830.0)), -4.0, None, "ref 3"
        ),
        entries.Count("oil", "quenches", 1.0, 3),
        entries.Reminder("o", "check", 10.0),
        entries.CareDone("o", "check"),
        entries.Survey("o", 830.0, (("front", 829.0), ("back", 831.0)), -1.0, 1.0),
        by_files("p", [(55.0, "skates"), (60.0, "cuts")], True, 3),
        entries.Warp("p", 1.2, "left", 120.0, "edge first", 20.0),
        entries.Note("p", "sent"),
    ]
    with Logbook(None) as book:
        for entry in made:
            entries.add(book, entry, START_UTC)
        reader = Reader(book.connection)
        assert [entries.read(reader, type(e), getattr(e, e.about))[0] for e in made] == made
