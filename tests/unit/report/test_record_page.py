"""The pages: looked at once as pictures, since then compared by content; the PDF with another library."""

import shutil
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest
from heats import START_UTC, TWO_SEGMENTS, header, one_run, ruled_run, temper
from pypdf import PdfReader

from kilnctl.care.hardness_tests import by_tester
from kilnctl.config import home
from kilnctl.errors import ConfigError
from kilnctl.logbook import entries
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Event, Logbook
from kilnctl.report.charts.chart import thin, write_chart
from kilnctl.report.charts.time_axis import merged
from kilnctl.report.label import STOCKS, Said, write_label
from kilnctl.report.layout.document import Pairs
from kilnctl.report.layout.html_page import write_html
from kilnctl.report.layout.pdf_page import write_pdf
from kilnctl.report.record import load_record
from kilnctl.report.record_page import hardness_words, record_page
from kilnctl.report.workshop import Workshop, workshop

DAY_S = 86_400.0
SHOP = Workshop("Weir Lane Toolroom")


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A logbook with an oven's history and one real heat, all invented; written once."""
    path = tmp_path_factory.mktemp("written") / "logbook.sqlite"
    oven_file = home.find("tempering-oven", "ovens", ConfigError).read_text(encoding="utf-8")
    with Logbook(path) as made:
        known = (
            entries.PartEntry("gouge 7", "O1", "bar 12", 4.0, 4, "order 31 <b>&"),
            entries.Calibration(
                "tempering-oven",
                "process",
                0.99593,
                -0.607,
                ((219.5, 218.0), (340.0, 338.0)),
                -2.0,
                0.3,
                "ref 3",
            ),
            entries.Survey(
                "tempering-oven",
                218.0,
                (("a", 216.1), ("b", 219.4), ("c", 220.8), ("d", 219.0), ("e", 217.2)),
                -1.9,
                2.8,
            ),
        )
        numbers = [entries.add(made, entry, START_UTC - 20 * DAY_S) for entry in known]
        applied = (numbers[1],)
        run = ruled_run(
            made, 1.5, simulated=False, oven_file=oven_file, operator="J. Maker", commissioning=applied
        )
        entries.add(
            made, by_tester("gouge 7", [59.1, 59.4, 58.7], (60.0, 60.9), True, run), START_UTC + DAY_S
        )
        entries.add(made, entries.Warp("gouge 7", 0.4, "left", run=run), START_UTC + DAY_S)
    return path


@pytest.fixture
def book(written: Path, tmp_path: Path) -> Iterator[Logbook]:
    """Every test has a copy of its own."""
    shutil.copytree(written.parent, tmp_path / "home")
    with Logbook(tmp_path / "home" / "logbook.sqlite") as copied:
        yield copied


class _Text(HTMLParser):
    """Collects what a reader sees, and what a browser would fetch."""

    def __init__(self) -> None:
        super().__init__()
        self.seen: list[str] = []
        self.fetched: list[str] = []

    def handle_data(self, data: str) -> None:
        self.seen.append(data)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.fetched += [
            v for k, v in attrs if v and k in ("src", "href", "xlink:href") and not v.startswith("#")
        ]


def page_text(book: Logbook, run: int, folder: Path) -> str:
    reader = Reader(book.connection)
    write_html(record_page(reader, load_record(reader, run), SHOP), folder / "page.html")
    parser = _Text()
    parser.feed((folder / "page.html").read_text(encoding="utf-8"))
    assert parser.fetched == []
    return " ".join(" ".join(parser.seen).split())


def paper_text(book: Logbook, run: int, folder: Path) -> str:
    reader = Reader(book.connection)
    write_pdf(record_page(reader, load_record(reader, run), SHOP), folder / "page.pdf")
    pdf = PdfReader(folder / "page.pdf")
    assert pdf.root_object["/Lang"] == "en", "the page came from the appended catalog"
    assert len(pdf.pages) == 2, "one sheet: a front and a back"
    assert [round(float(v)) for v in pdf.pages[0].mediabox[2:]] == [595, 842]  # A4 in points, ISO 216
    return " ".join(" ".join(page.extract_text() for page in pdf.pages).split())


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


@pytest.mark.parametrize("text_of", [page_text, paper_text])
def test_a_page_says_everything(book: Logbook, tmp_path: Path, text_of: object) -> None:
    text = text_of(book, 1, tmp_path)  # type: ignore[operator]
    assert [words for words in SAID if words not in text] == []
    assert book.verify(1).short in text
    for word in ("SIMULATED", "INCOMPLETE", "CHANGED", "complies", "certif", *SHOP_TALK):
        assert word not in text


@pytest.mark.parametrize("text_of", [page_text, paper_text])
def test_a_page_is_marked_when_something_is_wrong(book: Logbook, tmp_path: Path, text_of: object) -> None:
    run = book.start_run(header(profile=TWO_SEGMENTS, period_s=1.0))
    made = temper()
    book.append(run, made[:3000] + made[3500:5000], [Event(100.0, START_UTC, "trip", "sensor open")])
    text = text_of(book, run, tmp_path)  # type: ignore[operator]
    for words in (
        "SIMULATED",
        "INCOMPLETE",
        "no end was recorded",
        "nothing was recorded for 8 min, from 50 min after the start",
        "Not finished: the record breaks off after 1 h 23 min.",
        "sensor open",
        "not yet",
    ):
        assert words in text
    book.connection.execute("UPDATE event SET text='all well' WHERE kind='trip'")
    text = text_of(book, run, tmp_path)  # type: ignore[operator]
    assert "CHANGED" in text
    assert 'event 0 ("trip" at 100.0 s) was changed' in text


def test_a_calibration_that_the_run_did_not_apply_is_not_said_to_be_in_force(
    book: Logbook, tmp_path: Path
) -> None:
    oven_file = Reader(book.connection).header(1).oven_file
    text = page_text(book, ruled_run(book, oven_file=oven_file), tmp_path)
    assert "NOT APPLIED in this run" in text
    assert "NOT APPLIED" not in page_text(book, 1, tmp_path)


@pytest.mark.parametrize("kind", ["png", "svg"])
def test_a_chart_is_drawn_and_marked(book: Logbook, tmp_path: Path, kind: str) -> None:
    run = one_run(book, 50, end=False)
    for number in (1, run):
        write_chart(load_record(Reader(book.connection), number), tmp_path / f"{number}.{kind}", kind)
    if kind == "png":
        assert (tmp_path / "1.png").read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"  # PNG specification
        return
    whole, broken = ((tmp_path / f"{number}.svg").read_text() for number in (1, run))
    assert "part, estimated" in whole
    assert "°F" in whole
    assert "INCOMPLETE" not in whole
    assert "INCOMPLETE" in broken
    assert "SIMULATED" in broken


def test_a_page_printed_again_is_the_same_to_the_byte(book: Logbook, tmp_path: Path) -> None:
    for folder in ("first", "again"):
        (tmp_path / folder).mkdir()
        page_text(book, 1, tmp_path / folder)
        paper_text(book, 1, tmp_path / folder)
    for name in ("page.html", "page.pdf"):
        assert (tmp_path / "first" / name).read_bytes() == (tmp_path / "again" / name).read_bytes()


def test_a_run_without_samples_or_readable_files_has_a_page_too(book: Logbook, tmp_path: Path) -> None:
    run = book.start_run(header(profile="no = 'profile'", oven_file="", part=""))
    text = page_text(book, run, tmp_path)
    assert "INCOMPLETE" in text
    assert "not stated: the sensor type is unknown" in text
    assert "the oven file was not kept" in text
    paper_text(book, run, tmp_path)


def test_hands_are_on_the_page_whether_in_the_heat_or_after_it() -> None:
    with Logbook(None) as made:
        run = one_run(made, 10, end=False)
        stamp = {"mark": "in the oil", "after_s": 9.04, "late": True}
        made.append(run, [], [Event(12.0, START_UTC, "mark", "pts/3", stamp)])
        made.finish(run, "complete", {}, START_UTC)
        entries.add(made, entries.Note("gouge 7", "clamped after 30.0 s", run), START_UTC + 99.0)
        weld = entries.LatchChange("oven", "trip, after the end", "rising", "it rises while off", run=run)
        entries.add(made, weld, START_UTC + 98.0)
        reader = Reader(made.connection)
        page = record_page(reader, load_record(reader, run), SHOP)
    (rows,) = (dict(b.rows) for b in page.blocks if isinstance(b, Pairs) and b.title.startswith("Alarms"))
    (mark,) = (value for name, value in rows.items() if name.endswith(" mark"))
    assert mark == "pts/3; in the oil after 9.0 s LATE"
    assert rows["after the end"] == "clamped after 30.0 s"
    assert rows["trip, after the end"] == "it rises while off"


def test_many_alarms_leave_the_page_one_page(book: Logbook, tmp_path: Path) -> None:
    run = book.start_run(header(profile=TWO_SEGMENTS, part="p" * 200))
    many = [
        Event(float(i), START_UTC + i, "alarm", f"alarm {i}: " + "far behind its set-point " * 3)
        for i in range(80)
    ]
    book.append(run, temper()[:200], many)
    book.finish(run, "tripped", {"cause": "too hot " * 30}, START_UTC)
    assert "71 more" in paper_text(book, run, tmp_path)


def printed(path: Path) -> list[tuple[float, float, float, str]]:
    """Return (x, y, size, words) in points of everything printed, as another library reads it."""
    found: list[tuple[float, float, float, str]] = []

    def see(text: str, user: list[float], place: list[float], _: object, size: float) -> None:
        if text.strip():
            x = user[4] + user[0] * place[4] + user[2] * place[5]
            y = user[5] + user[1] * place[4] + user[3] * place[5]
            found.append((x, y, size, text.strip()))

    for page in PdfReader(path).pages:
        page.extract_text(visitor_text=see)
    return found


def test_nothing_is_smaller_than_nine_points_or_off_the_sheet(book: Logbook, tmp_path: Path) -> None:
    run = book.start_run(header(profile=TWO_SEGMENTS, part="gouge 7", simulated=False))
    many = [Event(float(i), START_UTC, "alarm", "far behind its set-point " * 4) for i in range(9)]
    book.append(run, temper()[:200], many)
    for number in (1, run):
        paper_text(book, number, tmp_path)
        seen = printed(tmp_path / "page.pdf")
        assert len(seen) > 100
        assert [words for *_, size, words in seen if size < 9.0] == []
        assert all(0.0 < x < 595.0 and 0.0 < y < 842.0 for x, y, *_ in seen)


class _Slices(HTMLParser):
    """Collects what the curve says under the mouse."""

    def __init__(self) -> None:
        super().__init__()
        self.inside, self.said = False, list[str]()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.inside = self.inside or dict(attrs).get("class") == "slice"

    def handle_data(self, data: str) -> None:
        if self.inside:
            self.said.append(data)
            self.inside = False


def test_the_curve_answers_the_mouse_with_what_was_measured(book: Logbook, tmp_path: Path) -> None:
    """By ruler: 180 K/h from 20 degC, so half an hour after the start it was 110 degC."""
    page_text(book, 1, tmp_path)
    parser = _Slices()
    text = (tmp_path / "page.html").read_text(encoding="utf-8")
    parser.feed(text)
    (half_hour,) = (words for words in parser.said if "(0 h 30 min after" in words)
    measured = float(half_hour.split("oven ")[1].split(" °C")[0])
    assert measured == pytest.approx(110.0, abs=2.0)  # a slice is 46 s wide, 2.3 K
    assert 'role="img" aria-label="Temperature of run 1' in text
    assert '<th scope="col">' in text
    assert 'name="viewport"' in text


def test_gaps_closer_than_a_hair_are_one() -> None:
    gaps = ((10.0, 14.0), (16.0, 20.0), (100.0, 101.0))
    assert merged(gaps, 5.0) == [(10.0, 20.0), (100.0, 101.0)]
    assert merged(gaps, 1.0) == list(gaps)


@pytest.mark.parametrize("stock", ["62mm", "a7"])
def test_a_label_says_what_it_is_and_never_calls_a_broken_heat_treated(
    book: Logbook, tmp_path: Path, stock: str
) -> None:
    run = book.start_run(header(profile=TWO_SEGMENTS, part="gouge 8", simulated=False))
    book.append(run, temper()[:3000], [])
    book.finish(run, "tripped", {"cause": "Door: open for 120 s"}, START_UTC)
    reader, said = Reader(book.connection), {}
    for number in (1, run):
        record = load_record(reader, number)
        out = tmp_path / f"{number}.pdf"
        write_label(record, Said(hardness_words(reader, record)), SHOP, STOCKS[stock], out, "pdf")
        page = PdfReader(out).pages[0]
        wide = {"62mm": 62.0, "a7": 105.0}[stock]  # A7 is 74 x 105 mm, ISO 216
        assert float(page.mediabox[2]) == pytest.approx(wide / 25.4 * 72.0, abs=0.5)
        assert min(size for *_, size, _ in printed(out)) >= 9.0
        said[number] = " ".join(page.extract_text().split())
    for words in ("gouge 7 · O1", "Tempered at 218 °C for 2 h", "run 1", "Weir Lane", "59.1"):
        assert words in said[1]
    assert "Not finished: the heat was cut after 50 min. Door: open for 120 s." in said[run]
    assert "empered at" not in said[run]


def test_the_workshop_is_read_from_its_file_and_a_wrong_mark_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    assert workshop() == Workshop()
    file = tmp_path / "workshop.toml"
    file.write_text('name = "Weir Lane"\nline = "edge tools"\nmark = "mark.png"\n', encoding="utf-8")
    with pytest.raises(ConfigError, match="mark cannot be read"):
        workshop()
    (tmp_path / "mark.png").write_bytes(b"GIF89a")
    with pytest.raises(ConfigError, match="must be a PNG"):
        workshop()
    (tmp_path / "mark.png").write_bytes(b"\x89PNG\r\n\x1a\n...")
    assert workshop().words == "Weir Lane · edge tools"


def test_a_thinned_curve_keeps_every_extreme() -> None:
    import numpy as np

    at = np.arange(50_000.0)
    values = np.sin(at / 700.0)
    values[12_345], values[40_001] = 9.0, -9.0
    few_at, few = thin(at, values)
    assert len(few) < 2000
    assert (few.max(), few.min()) == (9.0, -9.0)
    assert np.all(np.diff(few_at) >= 0)


def test_what_a_heat_found_changed_on_its_oven_stands_on_its_page(book: Logbook, tmp_path: Path) -> None:
    run = book.start_run(header(profile=TWO_SEGMENTS, period_s=1.0))
    book.append(run, temper(soak_s=60), [])
    found = "the sensor answers slower than when the oven was learned (lag x 1.46)"
    book.finish(run, "complete", {"cause": "", "oven_note": found}, START_UTC + 4020)
    assert found in page_text(book, run, tmp_path)
