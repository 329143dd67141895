"""The label on a part."""

from pathlib import Path

import pytest
from heats import START_UTC, TWO_SEGMENTS, header, temper
from printed_pages import SHOP, printed
from pypdf import PdfReader

from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.report.label import STOCKS, Said, write_label
from kilnctl.report.record import load_record
from kilnctl.report.record_page import hardness_words

DAY_S = 86_400.0


@pytest.mark.parametrize("stock", ["62mm", "a7"])
def test_a_label_says_what_it_is_and_never_calls_a_broken_heat_treated(
    full_book: Logbook, tmp_path: Path, stock: str
) -> None:
    run = full_book.start_run(header(profile=TWO_SEGMENTS, part="gouge 8", simulated=False))
    full_book.append(run, temper()[:3000], [])
    full_book.finish(run, "tripped", {"cause": "Door: open for 120 s"}, START_UTC)
    reader, said = Reader(full_book.connection), {}
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


def test_a_label_without_a_name_for_the_part_begins_with_its_steel(
    full_book: Logbook, tmp_path: Path
) -> None:
    """A customer should not meet a file's name first."""
    run = full_book.start_run(header(profile=TWO_SEGMENTS, part="", simulated=False))
    full_book.append(run, temper(), [])
    full_book.finish(run, "complete", {"cause": ""}, START_UTC)
    out = tmp_path / "label.pdf"
    reader = Reader(full_book.connection)
    write_label(load_record(reader, run), Said(), SHOP, STOCKS["62mm"], out, "pdf")
    said = " ".join(PdfReader(out).pages[0].extract_text().split())
    assert said.startswith("Steel O1 Tempered at 218 °C")
    assert "gouge temper" not in said
