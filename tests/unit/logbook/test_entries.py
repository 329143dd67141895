"""What is written beside the runs: each entry comes back as it went in, and a correction hides nothing."""

from heats import START_UTC

from kilnctl.care.hardness_tests import by_files
from kilnctl.logbook import entries
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook


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
