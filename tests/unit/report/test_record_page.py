"""The pages: looked at once as pictures, since then compared by content; the PDF with another library."""

from pathlib import Path

from heats import START_UTC, TWO_SEGMENTS, header, one_run, ruled_run, temper
from printed_pages import SHOP, page_text, paper_text

from kilnctl.logbook import entries
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Event, Logbook
from kilnctl.report.layout.document import Pairs
from kilnctl.report.layout.html_page import write_html
from kilnctl.report.layout.pdf_page import write_pdf
from kilnctl.report.record import load_record
from kilnctl.report.record_page import record_page

DAY_S = 86_400.0


SAID = (
    "Weir Lane Toolroom",
    "gouge 7 · O1",
    "Tempered at 218 °C for 2 h",
    "Done as planned: held 218 °C for 2 h (oven 220 to 220 °C).",
    "bar 12",
    "order 31 <b>&",
    "gouge temper, revision 1",
    "J. Maker",
    "to 218 °C at 180 °C/h",
    "218 °C for 2 h",
    "180 °C/h",
    "219.5 to 219.5 °C",
    "1.5 °C",
    "the temper counts as",
    "60–62 HRC",
    "59–62 HRC",
    "block-corrected 58.2",
    "0.4 mm to the left",
    "behind its set-point",
    "gain 0.99593",
    "as left +0.3 K",
    "-1.9/+2.8 K",
    # by hand: 2 sqrt((1.5^2 + 2.8^2) / 3), the calibration's own error and the survey
    "±3.7 K, coverage factor 2",
    "Not measured",
    "temperature of the part (the curve shows an estimate)",
    "Records to support",
)


# What a customer cannot read: commands, bare constants, kelvin where a maker says degrees.
SHOP_TALK = ("kilnctl tune", "`", "K/h", "C = 20", "dose")


def test_a_page_says_everything_and_printed_again_is_the_same_to_the_byte(
    full_book: Logbook, tmp_path: Path
) -> None:
    for name, text_of in (("page.html", page_text), ("page.pdf", paper_text)):
        text = text_of(full_book, 1, tmp_path)
        first = (tmp_path / name).read_bytes()
        assert [words for words in SAID if words not in text] == []
        assert full_book.verify(1).short in text
        for word in ("SIMULATED", "INCOMPLETE", "CHANGED", "complies", "certif", *SHOP_TALK):
            assert word not in text
        write_again(full_book, name, tmp_path)
        assert (tmp_path / name).read_bytes() == first


def write_again(book: Logbook, name: str, folder: Path) -> None:
    reader = Reader(book.connection)
    made = record_page(reader, load_record(reader, 1), SHOP)
    (write_html if name == "page.html" else write_pdf)(made, folder / name)


def test_a_page_is_marked_when_something_is_wrong(full_book: Logbook, tmp_path: Path) -> None:
    run = full_book.start_run(header(profile=TWO_SEGMENTS, period_s=1.0))
    made = temper()
    full_book.append(run, made[:3000] + made[3500:5000], [Event(100.0, START_UTC, "trip", "sensor open")])
    texts = [text_of(full_book, run, tmp_path) for text_of in (page_text, paper_text)]
    for words in (
        "SIMULATED",
        "INCOMPLETE",
        "No end was recorded",
        "Nothing was recorded for 8 min, from 50 min after the start",
        "Not finished: the record breaks off after 1 h 23 min.",
        "sensor open",
        "not yet",
    ):
        assert [text for text in texts if words not in text] == []
    full_book.connection.execute("UPDATE event SET text='all well' WHERE kind='trip'")
    text = undrawn(full_book, run)
    assert "CHANGED" in text
    assert 'event 0 ("trip" at 100.0 s) was changed' in text


def undrawn(book: Logbook, run: int) -> str:
    """Return every word of a page; its curves are not drawn."""
    reader = Reader(book.connection)
    return repr(record_page(reader, load_record(reader, run), SHOP))


def test_a_calibration_that_the_run_did_not_apply_is_not_said_to_be_in_force(full_book: Logbook) -> None:
    oven_file = Reader(full_book.connection).header(1).oven_file
    assert "NOT APPLIED in this run" in undrawn(full_book, ruled_run(full_book, oven_file=oven_file))
    assert "NOT APPLIED" not in undrawn(full_book, 1)


def test_a_run_without_samples_or_readable_files_has_a_page_too(full_book: Logbook, tmp_path: Path) -> None:
    run = full_book.start_run(header(profile="no = 'profile'", oven_file="", part=""))
    text = page_text(full_book, run, tmp_path)
    assert "INCOMPLETE" in text
    assert "not stated: the sensor type is unknown" in text
    assert "the oven file was not kept" in text
    paper_text(full_book, run, tmp_path)


def test_hands_are_on_the_page_whether_in_the_heat_or_after_it() -> None:
    with Logbook(None) as made:
        run = one_run(made, 10, end=False)
        stamp = {"mark": "in the oil", "after_s": 9.04, "late": True}
        over = {"alarm_kind": "door_open", "over_s": 0.0, "lasted_s": 150.0}
        told = Event(500.0, START_UTC, "alarm over", "Door: open for 3 min; at 4 min the run ends", over)
        made.append(run, [], [Event(12.0, START_UTC, "mark", "pts/3", stamp), told])
        made.finish(run, "complete", {}, START_UTC)
        entries.add(made, entries.Note("gouge 7", "clamped after 30.0 s", run), START_UTC + 99.0)
        weld = entries.LatchChange("oven", "trip, after the end", "rising", "it rises while off", run=run)
        entries.add(made, weld, START_UTC + 98.0)
        reader = Reader(made.connection)
        page = record_page(reader, load_record(reader, run), SHOP)
    (rows,) = (dict(b.rows) for b in page.blocks if isinstance(b, Pairs) and b.title.startswith("Alarms"))
    (mark,) = (value for name, value in rows.items() if name.endswith(" mark"))
    assert mark == "pts/3; in the oil after 9.0 s LATE"
    (gone,) = ((name, value) for name, value in rows.items() if name.endswith(" alarm over"))
    assert gone[1] == "Door: open for 3 min; the alarm stood for 2 min"
    assert gone[0].split()[0] == next(iter(rows)).split()[0], "when it was over, not when that was known"
    assert rows["after the end"] == "clamped after 30.0 s"
    assert rows["trip, after the end"] == "it rises while off"


def test_a_page_tells_whatever_the_record_knows_of_off_alarms_and_people(full_book: Logbook) -> None:
    """The record knew that off was not read back, and that somebody had acknowledged; its page did not."""
    said = {
        "found later": "Off: sent with every tick but not read back: nothing answers",
        "not confirmed off": "the output did not read back as off",
        "alarm back": "Door: open for 9 s",
        "acknowledge": "anna at terminal 3",
        "shelve": "anna at terminal 4",
        "off": "off by anna at terminal 5",
    }
    run = full_book.start_run(header())
    full_book.append(run, [], [Event(9.0, START_UTC, kind, text) for kind, text in said.items()])
    page = undrawn(full_book, run)
    for kind, text in said.items():
        assert f" {kind}', '{text}')" in page, kind


def test_many_alarms_leave_the_page_one_page(full_book: Logbook, tmp_path: Path) -> None:
    run = full_book.start_run(header(profile=TWO_SEGMENTS, part="p" * 200))
    many = [
        Event(float(i), START_UTC + i, "alarm", f"alarm {i}: " + "far behind its set-point " * 3)
        for i in range(80)
    ]
    many.append(Event(81.0, START_UTC + 81, "not confirmed off", "the output did not read back as off"))
    full_book.append(run, temper()[:200], many)
    full_book.finish(run, "tripped", {"cause": "too hot " * 30}, START_UTC)
    text = paper_text(full_book, run, tmp_path)
    assert "72 more" in text
    assert "the output did not read back as off" in text, "the worst comes last, and is never left out"
    assert "Planned: tempered at 218 °C" in text, "a title once said what had not happened"
    assert "Tempered at" not in text


def test_what_a_heat_found_changed_on_its_oven_stands_on_its_page(full_book: Logbook, tmp_path: Path) -> None:
    run = full_book.start_run(header(profile=TWO_SEGMENTS, period_s=1.0))
    full_book.append(run, temper(soak_s=60), [])
    found = "the sensor answers slower than when the oven was learned (lag x 1.46)"
    full_book.finish(run, "complete", {"cause": "", "oven_note": found}, START_UTC + 4020)
    assert found in page_text(full_book, run, tmp_path)
